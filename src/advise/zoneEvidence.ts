import { intraclassInterval, oneWay, seededRandom } from '../describe/index.ts';
import {
  judgeZones,
  judgeZonesByHoldOut,
  judgeZonesByYears,
  yieldZones,
  zonesOfSamples,
  type ZoneBasis,
} from '../design/index.ts';
import type { FlatPositions } from '../field/index.ts';
import type { AnalyteStudy } from './analyte.ts';
import { zoneLimits, type Candidate, type ZoneCandidate } from './candidates.ts';
import type { FieldInput } from './fieldInput.ts';
import type { AdviceOptions } from './options.ts';
import { yieldSurface } from './yieldLayer.ts';
import { inSentence, sayPercent } from './words.ts';

/**
 * What test points say of the zones compared, each judged on values that did not help to form its mean, nor to draw it
 * where it is drawn from tests.
 */
export interface ZoneEvidence {
  /** The property whose tests judged; absent where yield did. */
  readonly analyte?: string;
  readonly basis: ZoneBasis;
  readonly sentence: string;
  readonly scores: readonly {
    readonly id: string;
    readonly zones: number;
    /** Squared error from the zone's other values over that from the field's other values. */
    readonly relativeToField: number;
    readonly standardError: number;
    readonly recommended: boolean;
  }[];
  /** Share of the variance that lies between soil units, with its 80 % interval, as a sentence. */
  readonly soilUnits?: string;
}

/** Zones that somebody could draw from what is known: those that nobody has drawn have nothing to be judged. */
const drawn = (c: Candidate): c is ZoneCandidate =>
  c.kind === 'zones' && (c as ZoneCandidate).map.from !== 'not drawn yet';

/**
 * Zones judged by test points; without any, zones by yield judged by the other years, or by ground held out of the one year.
 * @returns undefined without drawn zones, or with too little to judge them by
 */
export function zoneEvidence(
  field: FieldInput,
  fieldNodes: FlatPositions,
  candidates: readonly Candidate[],
  lead: AnalyteStudy,
  options: AdviceOptions,
): ZoneEvidence | undefined {
  const { seed } = options;
  const zones = candidates.filter(drawn);
  if (zones.length === 0) return undefined;
  if (!lead.sample) return byYield(field, fieldNodes, options);
  const choice = judgeZones(
    fieldNodes,
    zones.map(({ map }) => ({ map })),
    lead.sample,
    { random: seededRandom(seed), divisions: 5, placings: 39 },
  );
  if (!choice) return undefined;
  const ids = ['whole', ...zones.filter(({ map }) => map.zones > 1).map(({ id }) => id)];
  const soil = zones.find(({ map }) => map.from === 'soil units');
  const anova = soil && oneWay(lead.sample.z, zonesOfSamples(lead.sample.xy, soil.map));
  const interval = anova && intraclassInterval(anova, 0.8);
  return {
    analyte: lead.id,
    basis: choice.basis,
    sentence: choice.sentence,
    scores: choice.scores.map((s, i) => ({
      id: ids[i],
      zones: s.k,
      relativeToField: s.relativeToField,
      standardError: s.standardError,
      recommended: i === choice.recommended,
    })),
    soilUnits:
      interval &&
      `Soil units account for ${sayPercent(anova.intraclass)} of the variance of ${inSentence(lead.advice.label)} (intraclass correlation; 80 % interval ${sayPercent(interval.low)} to ${sayPercent(interval.high)}, tests taken as independent).`,
  };
}

function byYield(field: FieldInput, nodes: FlatPositions, options: AdviceOptions): ZoneEvidence | undefined {
  const years = field.yields.flatMap((y) => yieldSurface({ ...field, yields: [y] }, nodes) ?? []);
  if (years.length === 0) return undefined;
  const limits = zoneLimits(field, options);
  const checks = { random: seededRandom(options.seed), divisions: 5, placings: 39 };
  const choice =
    years.length > 1
      ? judgeZonesByYears(nodes, years, (s, k) => yieldZones(nodes, s, k, limits), options.maxZones, checks)
      : judgeZonesByHoldOut(
          nodes,
          years[0],
          (n, s, k) => yieldZones(n, s, k, limits),
          options.maxZones,
          checks,
        );
  return (
    choice && {
      basis: choice.basis,
      sentence: choice.sentence,
      scores: choice.scores.map((s, i) => ({
        id: s.k === 1 ? 'whole' : `zones-yield-${s.k}`,
        zones: s.k,
        relativeToField: s.relativeToField,
        standardError: s.standardError,
        recommended: i === choice.recommended,
      })),
    }
  );
}
