import { groundShape, type MapGround } from '../design/index.ts';
import { areaHa, regionBounds, spreadNodes } from '../field/index.ts';
import type { Belief, Member } from '../prior/index.ts';
import { analyteCatalogue } from '../read/index.ts';
import { reviewSpacing } from '../review/index.ts';
import { rateEquationOf, samplingCost } from '../value/index.ts';
import type { Advice, AnalyteAdvice, DesignOutcome, SpacingReview } from './advice.ts';
import { studyAnalyte } from './analyte.ts';
import { formBeliefs } from './beliefs.ts';
import { isMap, listCandidates, type Candidate } from './candidates.ts';
import type { FieldInput } from './fieldInput.ts';
import { commonDirection } from './direction.ts';
import { axesOver, fieldErrors } from './fieldErrors.ts';
import { intervalOf, judge, samplingOf, type Judgement } from './judge.ts';
import type { AdviceOptions } from './options.ts';
import type { Progress } from './request.ts';
import { prepareSeries } from './series.ts';
import { layStops } from './stops.ts';
import { sayInfill, saySpacing, sayVerdict, toleranceOf, type VerdictInput } from './verdict.ts';
import { zoneEvidence } from './zoneEvidence.ts';
import { yieldRangeHints, yieldSurface } from './yieldLayer.ts';
import { sayPercent } from './words.ts';

export const VERSION = '0.1.0';

/** Members that designs are judged under: more where money follows. */
const MONEY_MEMBERS = 48;
const OTHER_MEMBERS = 24;
/** Block centres an error is averaged over, and nodes that stand for the field. */
const ERROR_NODES = 110;
const PLACEMENT_NODES = 45;
const FIELD_NODES = 220;
/** Questions whose answers shape the belief. */
const GROUND_QUESTIONS = [
  'soilUnits',
  'slope',
  'manure',
  'merged',
  'fertiliser',
  'yieldSpread',
  'phosphorus',
  'potassium',
] as const;
/** Properties that decide when nothing was measured. */
const ALWAYS = ['P', 'K'];

/**
 * The whole answer for one field: beliefs, designs compared, verdict, stops.
 * Pure: the same input, options and seed give the same answer.
 */
export function advise(
  field: FieldInput,
  given: AdviceOptions,
  progress: Progress = () => undefined,
): Advice {
  const options: AdviceOptions = {
    ...given,
    labPrice: field.answers.labPrice ?? given.labPrice,
    budget: field.answers.budget ?? given.budget,
  };
  const hectares = areaHa(field.region);
  const b = regionBounds(field.region);
  const lengthM = Math.hypot(b.maxX - b.minX, b.maxY - b.minY);
  const fieldNodes = spreadNodes(field.region, FIELD_NODES);

  progress(0.02, 'yield');
  const surface = yieldSurface(field, fieldNodes);
  const hints = yieldRangeHints(field, lengthM);
  progress(0.05, 'variation');
  const aside = new Set(options.setAside);
  const series = seriesToStudy(field).map((s) =>
    prepareSeries(
      s,
      field.tests?.xy,
      field.answers,
      hints,
      (place) => aside.has(`${s.id}:${field.tests?.rows[place]}`),
      options.scales[s.id],
    ),
  );
  const direction = commonDirection(series);
  const formed = formBeliefs(series, fieldNodes, options.seed, direction, (share) =>
    progress(0.05 + 0.4 * share, 'variation'),
  );
  const studies = series.map((s, i) =>
    studyAnalyte(s, formed[i], field.tests?.rows ?? [], lengthM, options.seed + i, direction),
  );
  progress(0.5, 'designs');
  const crop = field.answers.crop ?? 'corn-soybean';
  const equations = series.map((s) => rateEquationOf(s.id, crop, s.extractant));
  const ground: MapGround = {
    blocks: spreadNodes(field.region, ERROR_NODES),
    fieldNodes,
    blockM: options.blockM,
    anisotropy: direction,
  };
  const main = Math.max(
    0,
    equations.findIndex((e) => e !== undefined),
  );
  const typical = middleMember(studies[main].belief);
  // The nodes' sequence covers the field with any number of its first.
  const someGround = { ...ground, blocks: ground.blocks.slice(0, 2 * PLACEMENT_NODES) };
  const candidates = listCandidates(field, fieldNodes, surface, options, {
    member: typical,
    ground: someGround,
    shape: groundShape(someGround, typical.kind, typical.effectiveRangeM),
    sampling: samplingOf(studies[main].belief.labVariance, options),
  });
  const axes = axesOver(
    studies.flatMap((s) => s.belief.members),
    studies.flatMap((s) =>
      [options.coresPerStop, options.coresPerZone].map(samplingOf(s.belief.labVariance, options)),
    ),
  );
  const errors = fieldErrors(candidates, ground, axes, (d) =>
    progress(0.52 + (0.3 * d) / candidates.length, candidates[d].label),
  );
  const judgements = studies.map((study, i) => {
    progress(0.82 + (0.13 * i) / studies.length, study.advice.label);
    const count = equations[i] ? MONEY_MEMBERS : OTHER_MEMBERS;
    return judge(study, candidates, errors, equations[i], options, count, options.seed + i);
  });

  progress(0.96, 'verdict');
  const costs = candidates.map((c) => samplingCost(hectares, c.samples, c.cores, c.places, options));
  const yearly = costs.map((c) => c.total / hectares / options.yearsBetween);
  const money = judgements.filter((j) => j.losses.length > 0);
  const losses = candidates.map((_, d) =>
    Float64Array.from({ length: MONEY_MEMBERS }, (_, m) => money.reduce((s, j) => s + j.losses[d][m], 0)),
  );
  const memberTotals = Array.from({ length: MONEY_MEMBERS }, (_, m) =>
    candidates.map((_, d) => yearly[d] + losses[d][m]),
  );
  const mean = (values: Float64Array) => values.reduce((s, v) => s + v, 0) / values.length;
  const totals = losses.map((l, d) => yearly[d] + mean(l));
  const limits = candidates.map((c, d) => whyNot(c, costs[d].total, options));
  const best = totals[cheapest(totals, limits)];
  const whole = candidates.findIndex((c) => c.kind === 'whole');
  const chosen = fewestNearBest(totals, candidates, limits);
  const unlimited = fewestNearBest(
    totals,
    candidates,
    candidates.map((c) => whyNot(c, 0, { ...options, budget: 0, minSamples: 1 })),
  );

  const designs: DesignOutcome[] = candidates.map((c, d) => ({
    id: c.id,
    kind: c.kind,
    label: c.label,
    samples: c.samples,
    haPerSample: hectares / c.samples,
    spacingM: isMap(c) ? c.grid.spacingM : undefined,
    placements: isMap(c) && c.kind === 'grid' ? c.placements : undefined,
    coresPerSample: c.cores,
    zonesFrom: c.kind === 'zones' ? c.map.from : undefined,
    cost: { ...costs[d], perHa: costs[d].total / hectares, perHaYear: yearly[d] },
    errors: Object.fromEntries(studies.map((s, a) => [s.id, judgements[a].errors[d]])),
    lossPerHaYear: intervalOf(losses[d], true),
    totalPerHaYear: intervalOf(
      losses[d].map((l) => yearly[d] + l),
      true,
    ),
    admissible: limits[d] === undefined,
    whyNot: limits[d],
    nearBest: limits[d] === undefined && totals[d] <= best + toleranceOf(best, totals[whole]),
  }));
  const analytes: AnalyteAdvice[] = studies.map((s, a) => {
    if (judgements[a].losses.length === 0) return s.advice;
    return {
      ...s.advice,
      lossPerHaYear: Object.fromEntries(
        candidates.map((c, d) => [c.id, intervalOf(judgements[a].losses[d], true)]),
      ),
      rateSource: equations[a]!.source,
    };
  });

  // The analyte that loses most to a single rate leads: its errors are what sampling can mend.
  const reach = judgements.map((j) => (j.singleRate.length > 0 ? mean(j.singleRate) : -1));
  const lead = reach.indexOf(Math.max(...reach));
  const evidence = zoneEvidence(field, fieldNodes, candidates, studies[lead], options);
  const input: VerdictInput = {
    designs,
    chosen,
    memberTotals,
    analytes,
    leadAnalyte: studies[lead].id,
    unlimitedLabel: unlimited === chosen ? undefined : candidates[unlimited].label,
    singleRateLoss: money.reduce((s, j) => s + mean(j.singleRate), 0),
    whatIf: whatIfs(candidates, costs, losses, limits, judgements[lead].members, hectares, chosen, options),
    areaHa: hectares,
    direction,
    answered: GROUND_QUESTIONS.some((q) => field.answers[q] !== undefined),
    hasPoints: studies.some((s) => s.sample !== undefined),
    options,
  };
  const { stops, zoneCells } = layStops(candidates[chosen], field.region, field.frame);
  progress(1, 'done');
  return {
    tool: { name: 'lagstep', version: VERSION },
    field: {
      name: field.name,
      areaHa: hectares,
      boundarySource: field.boundarySource,
      frame: field.frame,
      region: field.region,
      soilUnits: field.soilUnits.map((u) => ({ ...u, areaHa: areaHa(u.region) })),
      oldPoints: field.tests ? [...field.tests.xy] : [],
      zoneCells,
      direction,
    },
    inputs: field.inputs,
    options,
    analytes,
    zoneEvidence: evidence,
    designs,
    verdict: sayVerdict(input),
    stops,
    review: studies[lead].sample && reviewOf(field, designs, chosen, hectares, options),
  };
}

function seriesToStudy(field: FieldInput) {
  const measured = field.tests?.series ?? [];
  const missing = ALWAYS.filter((id) => !measured.some((s) => s.id === id)).map((id) => {
    const known = analyteCatalogue.find((a) => a.id === id)!;
    return { id, label: known.label, unit: known.unit, extractant: undefined };
  });
  const reaction = measured.length === 0 ? analyteCatalogue.filter((a) => a.id === 'pH') : [];
  return [
    ...measured,
    ...missing,
    ...reaction.map(({ id, label, unit }) => ({ id, label, unit, extractant: undefined })),
  ];
}

/** The member with the middle range. */
const middleMember = ({ members }: Belief): Member => members[members.length >> 1];

function whyNot(c: Candidate, total: number, o: AdviceOptions): string | undefined {
  if (o.budget > 0 && total > o.budget) return 'over the budget';
  if (c.samples < o.minSamples) return 'fewer samples than asked for';
  // Walking whole cells is more work than most plan for, so it is advised only to those who say they would.
  if (c.kind === 'cells' && o.cells === 'compare') return 'shown for comparison';
  return undefined;
}

/** Index of the least total among the admissible; of the least costly design when none is. */
function cheapest(totals: readonly number[], limits: readonly (string | undefined)[]): number {
  let best = -1;
  totals.forEach((t, d) => {
    if (limits[d] === undefined && (best < 0 || t < totals[best])) best = d;
  });
  return best < 0 ? 0 : best;
}

/**
 * The design with the fewest samples among those that cost about the same as the cheapest: totals that close cannot be
 * told apart, and what is not spent now can still be spent once the first results are in. Zones that nobody has drawn
 * rest on judgement alone, so they are taken only where nothing else comes near.
 */
function fewestNearBest(
  totals: readonly number[],
  candidates: readonly Candidate[],
  limits: readonly (string | undefined)[],
): number {
  const best = cheapest(totals, limits);
  const whole = candidates.findIndex((c) => c.kind === 'whole');
  const undrawn = (c: Candidate) => c.kind === 'zones' && c.map.from === 'not drawn yet';
  const near = candidates
    .map((c, d) => ({ c, d }))
    .filter(
      ({ d }) =>
        limits[d] === undefined && totals[d] <= totals[best] + toleranceOf(totals[best], totals[whole]),
    );
  const sound = near.filter(({ c }) => !undrawn(c));
  const eligible = sound.length > 0 ? sound : near;
  if (eligible.length === 0) return best;
  return eligible.reduce((a, b) => (b.c.samples < a.c.samples ? b : a)).d;
}

/** The choice made again with less and more variation, and with a sample at half and at twice its price. */
function whatIfs(
  candidates: readonly Candidate[],
  costs: readonly { readonly laboratory: number; readonly total: number }[],
  losses: readonly Float64Array[],
  limits: readonly (string | undefined)[],
  leadMembers: Judgement['members'],
  hectares: number,
  chosen: number,
  o: AdviceOptions,
): VerdictInput['whatIf'] {
  const byCv = leadMembers.map((m, i) => ({ cv: m.cv, i })).sort((p, q) => p.cv - q.cv);
  const third = Math.max(1, Math.round(byCv.length / 3));
  const choose = (members: readonly { readonly i: number }[], labFactor: number) =>
    fewestNearBest(
      candidates.map(
        (_, d) =>
          (costs[d].total + (labFactor - 1) * costs[d].laboratory) / hectares / o.yearsBetween +
          members.reduce((s, { i }) => s + losses[d][i], 0) / members.length,
      ),
      candidates,
      limits,
    );
  const cvOf = (members: readonly { readonly cv: number }[]) =>
    sayPercent(members[Math.floor(members.length / 2)].cv);
  const calm = byCv.slice(0, third);
  const wild = byCv.slice(-third);
  const cases = [
    { when: `If the field turned out more even (CV about ${cvOf(calm)})`, pick: choose(calm, 1) },
    { when: `If it turned out more varied (CV about ${cvOf(wild)})`, pick: choose(wild, 1) },
    { when: 'If a laboratory analysis cost half as much', pick: choose(byCv, 0.5) },
    { when: 'If it cost twice as much', pick: choose(byCv, 2) },
  ];
  return cases.map(({ when, pick }) => ({
    when,
    designLabel: candidates[pick].label,
    same: pick === chosen,
  }));
}

function reviewOf(
  field: FieldInput,
  designs: readonly DesignOutcome[],
  chosen: number,
  hectares: number,
  o: AdviceOptions,
): SpacingReview | undefined {
  const n = field.tests?.places ?? 0;
  if (n < 4) return undefined;
  if (designs[chosen].kind === 'infill') {
    const lastHaPerSample = hectares / n;
    const { samples } = designs[chosen];
    return {
      call: 'tighten',
      lastHaPerSample,
      advisedHaPerSample: hectares / (n + samples),
      sentence: sayInfill(lastHaPerSample, samples, o),
    };
  }
  const advised = designs[chosen].haPerSample;
  const r = reviewSpacing(
    hectares / n,
    advised,
    designs.filter((d) => d.nearBest).map((d) => d.haPerSample),
  );
  return {
    ...r,
    sentence: saySpacing(r.call, r.lastHaPerSample, advised, designs[chosen].kind === 'whole', o),
  };
}
