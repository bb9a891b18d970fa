import { groundShape, type MapGround } from '../design/index.ts';
import { areaHa, regionBounds, spreadNodes } from '../field/index.ts';
import type { Belief, Member } from '../prior/index.ts';
import { analyteCatalogue } from '../read/index.ts';
import { reviewSpacing } from '../review/index.ts';
import { cheapestOf, fewestOnPlateau, valueOfInformation } from '../value/index.ts';
import type { Advice, AnalyteAdvice, DesignOutcome, SpacingReview } from './advice.ts';
import { studyAnalyte } from './analyte.ts';
import { formBeliefs } from './beliefs.ts';
import { isMap, listCandidates } from './candidates.ts';
import { closePairs } from './closePairs.ts';
import type { FieldInput } from './fieldInput.ts';
import { commonDirection } from './direction.ts';
import { axesOver, fieldErrors } from './fieldErrors.ts';
import { choosables, toleranceAmong, whatIfs } from './choosing.ts';
import { costsOf } from './costs.ts';
import { decisionsOf } from './decisions.ts';
import { endlessCurve } from './endlessCurve.ts';
import { howOften } from './howOften.ts';
import { lastPositions } from './lastPositions.ts';
import { intervalOf, judge, samplingOf } from './judge.ts';
import { lossesOf, type DecisionLosses } from './losses.ts';
import { moneyAdvice, summed } from './money.ts';
import { strangeOptions } from './strangeOptions.ts';
import { rivalOf, sensitivity, type JudgedDecision } from './sensitivity.ts';
import type { AdviceOptions } from './options.ts';
import type { Progress } from './request.ts';
import { prepareSeries } from './series.ts';
import { layingIn } from './laying.ts';
import { stopsMoved } from './movedStops.ts';
import { layStops } from './stops.ts';
import { sayInfill, saySpacing, sayVerdict, type VerdictInput } from './verdict.ts';
import { testLayers } from './testLayers.ts';
import { studyTrends, withoutTrends } from './trend.ts';
import { zoneEvidence } from './zoneEvidence.ts';
import { yieldRangeHints, yieldSurface } from './yieldLayer.ts';

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
  const trends = studyTrends(series, fieldNodes, lengthM, options, field.soilUnits);
  // A trend would pass for ground that is alike longer along its contours.
  const direction = commonDirection(withoutTrends(series, trends));
  const formed = formBeliefs(
    series,
    fieldNodes,
    options.seed,
    direction,
    (share) => progress(0.05 + 0.4 * share, 'variation'),
    trends,
  );
  const studies = series.map((s, i) =>
    studyAnalyte(s, formed[i], field.tests?.rows ?? [], lengthM, options.seed + i, direction, trends[i]),
  );
  progress(0.5, 'designs');
  const decisions = decisionsOf(series, options.crop ?? field.answers.crop, options, field.guidance);
  const ground: MapGround = {
    blocks: spreadNodes(field.region, ERROR_NODES),
    fieldNodes,
    blockM: options.blockM,
    anisotropy: direction,
  };
  const main = Math.max(
    0,
    decisions.of.findIndex((d) => d !== undefined),
  );
  const typical = middleMember(studies[main].belief);
  // The nodes' sequence covers the field with any number of its first.
  const someGround = { ...ground, blocks: ground.blocks.slice(0, 2 * PLACEMENT_NODES) };
  const candidates = listCandidates(
    field,
    fieldNodes,
    surface,
    options,
    {
      member: typical,
      ground: someGround,
      shape: groundShape(someGround, typical.kind, typical.effectiveRangeM),
      sampling: samplingOf(studies[main].belief.labVariance, options),
    },
    testLayers(
      studies,
      decisions.of.map((d) => d !== undefined),
    ),
  );
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
    const count = decisions.of[i] ? MONEY_MEMBERS : OTHER_MEMBERS;
    return judge(study, candidates, errors, options, count, options.seed + i, fieldNodes);
  });

  progress(0.95, 'rates');
  const judged = studies.flatMap((study, i): JudgedDecision[] => {
    const decision = decisions.of[i];
    const judgement = judgements[i];
    if (!decision) return [];
    const losses = lossesOf(decision, judgement, study.working.inverse, options.yearsBetween);
    return [{ study, judgement, losses }];
  });
  // The property that loses most to a single rate leads: its errors are what sampling can mend.
  const reach = judged.map((j) => meanOf(j.losses.singleRate));
  const leads = reach.indexOf(Math.max(...reach));
  const lead = judged.length > 0 ? judged[leads] : { study: studies[main], judgement: judgements[main] };

  progress(0.97, 'verdict');
  const costs = costsOf(field, candidates, options);
  const yearly = costs.map((c) => c.total / hectares / options.yearsBetween);
  const sumOf = (part: (losses: DecisionLosses) => ArrayLike<number>) =>
    summed(
      judged.map((j) => part(j.losses)),
      MONEY_MEMBERS,
    );
  const losses = candidates.map((_, d) => sumOf((l) => l.losses[d]));
  const before = sumOf((l) => l.before);
  const memberTotals = Array.from({ length: MONEY_MEMBERS }, (_, m) =>
    candidates.map((_, d) => yearly[d] + losses[d][m]),
  );
  const totals = losses.map((l, d) => yearly[d] + meanOf(l));
  const errorsBy = candidates.map((_, d) =>
    Object.fromEntries(studies.map((s, a) => [s.id, judgements[a].errors[d]])),
  );
  const choosable = choosables(
    candidates,
    totals,
    candidates.map((_, d) => ({
      cost: costs[d].total,
      errors: errorsBy[d],
      rightClass: judged[leads]?.losses.rightClass[d]?.mid,
    })),
    options,
  );
  const offers = choosable.map((c) => c.offer);
  const whole = candidates.findIndex((c) => c.kind === 'whole');
  const best = offers[cheapestOf(offers)].total;
  const tolerance = toleranceAmong(offers, whole);
  const chosen = fewestOnPlateau(offers, tolerance);
  const free = offers.map((o) => ({ ...o, beyond: 0 }));
  const unlimited = fewestOnPlateau(free, toleranceAmong(free, whole));
  const rival = rivalOf(candidates, totals, chosen, (d) => choosable[d].whyNot === undefined);

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
    errors: errorsBy[d],
    lossPerHaYear: intervalOf(losses[d], true),
    totalPerHaYear: intervalOf(
      losses[d].map((l) => yearly[d] + l),
      true,
    ),
    valueOfInformation: judged.length > 0 ? valueOfInformation(before, losses[d]) : undefined,
    admissible: choosable[d].whyNot === undefined,
    whyNot: choosable[d].whyNot,
    nearBest: choosable[d].whyNot === undefined && totals[d] <= best + tolerance,
  }));
  const endless = endlessCurve(lead.study, lead.judgement, candidates, options);
  const analytes: AnalyteAdvice[] = studies.map((study): AnalyteAdvice => {
    const own = judged.find((j) => j.study === study);
    const described = study === lead.study ? { ...study.advice, endlessLattice: endless } : study.advice;
    if (!own) return described;
    return {
      ...described,
      lossPerHaYear: Object.fromEntries(
        candidates.map((c, d) => [c.id, intervalOf(own.losses.losses[d], true)]),
      ),
      rateSource: own.losses.decision.rateCase.source,
    };
  });

  const evidence = zoneEvidence(field, fieldNodes, candidates, lead.study, options);
  const input: VerdictInput = {
    designs,
    chosen,
    memberTotals,
    analytes,
    leadAnalyte: lead.study.id,
    unlimitedLabel: unlimited === chosen ? undefined : candidates[unlimited].label,
    singleRateLoss: reach.reduce((s, v) => s + v, 0),
    rival,
    whatIf: whatIfs(
      candidates,
      offers,
      costs,
      losses,
      lead.judgement.members,
      hectares,
      chosen,
      tolerance,
      options,
    ),
    caps: judged.flatMap(({ study, losses }) => {
      const { cap } = losses.decision.rateCase;
      return cap === undefined ? [] : [{ analyte: study.id, cap }];
    }),
    areaHa: hectares,
    direction,
    answered: GROUND_QUESTIONS.some((q) => field.answers[q] !== undefined),
    hasPoints: studies.some((s) => s.sample !== undefined),
    options,
  };
  const money = moneyAdvice(decisions, judged, candidates, MONEY_MEMBERS, {
    sensitivity: sensitivity({
      ...{ candidates, costs, totals, chosen, rival, tolerance, judged, lead: leads, options },
      rivalWhyNot: rival === undefined ? undefined : choosable[rival].whyNot,
      areaHa: hectares,
    }),
    howOften: howOften(judged, chosen, costs[chosen].total / hectares, tolerance, options),
  });
  const laid = layStops(
    candidates[chosen],
    field.region,
    field.frame,
    layingIn(field, options, candidates[chosen]),
  );
  const under = { study: lead.study, member: middleMember(lead.study.belief), ground };
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
      zoneCells: laid.zoneCells,
      ...(field.keepOut.length > 0 && { keepOut: field.keepOut }),
      direction,
    },
    inputs: [...field.inputs, ...strangeOptions(decisions, series, options)],
    options,
    analytes,
    zoneEvidence: evidence,
    designs,
    verdict: sayVerdict(input),
    stops: laid.stops,
    stopsMoved: stopsMoved(laid, candidates[chosen], under, options),
    lastPositions: lastPositions(laid, laid.taken, candidates[chosen], field.tests, under, options),
    closePairs: closePairs(laid.stops, candidates[chosen], costs[chosen], hectares, under, options),
    review: lead.study.sample && reviewOf(field, designs, chosen, hectares, options),
    money,
  };
}

const meanOf = (values: Float64Array) => values.reduce((s, v) => s + v, 0) / values.length;

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
