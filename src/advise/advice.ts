/**
 * The whole answer as plain data: what the page draws, the command line prints and a file stores.
 * Inside units are SI: metres, hectares, mg/kg, money per hectare and year. Faces convert.
 */
import type { ColumnUse } from '../read/records.ts';
import type { Problem } from '../read/problem.ts';
import type { Frame } from '../field/frame.ts';
import type { Region } from '../field/geometry.ts';
import type { OutlierKind } from '../clean/outliers.ts';
import type { NestedSample } from '../describe/nestedSample.ts';
import type { WorkingScale } from '../describe/scale.ts';
import type { KeepOut } from '../design/clearStops.ts';
import type { GridShape } from '../design/grid.ts';
import type { ZoneMap } from '../design/zones.ts';
import type { ModelKind } from '../variogram/structure.ts';
import type { ClosePairs } from './closePairs.ts';
import type { Direction } from './direction.ts';
import type { EndlessPoint } from './endlessCurve.ts';
import type { LastPositions } from './lastPositions.ts';
import type { MoneyAdvice } from './moneyAdvice.ts';
import type { StopsMoved } from './movedStops.ts';
import type { TrendAdvice } from './trend.ts';
import type { ZoneEvidence } from './zoneEvidence.ts';
import type { AdviceOptions } from './options.ts';

/** A middle value with the bounds of the belief's 80 % interval (10th and 90th percentiles). */
export interface Interval {
  readonly low: number;
  readonly mid: number;
  readonly high: number;
}

export type DesignKind = 'whole' | 'zones' | 'grid' | 'cells' | 'infill';

/** What a file brought: shown in the reading report. */
export interface InputReport {
  readonly file: string;
  readonly what:
    | 'test points'
    | 'boundary'
    | 'soil units'
    | 'yield'
    | 'guidance'
    | 'ground to keep out of'
    | 'answers'
    | 'options';
  readonly read: number;
  readonly setAside: number;
  readonly columns: readonly ColumnUse[];
  readonly notes: readonly Problem[];
}

export interface VariogramModelSummary {
  readonly kind: ModelKind;
  readonly nugget: number;
  readonly partialSill: number;
  /** Distance at which the structured part is (spherical) or is within 5 % of (exponential) its sill. */
  readonly effectiveRangeM: number;
}

/** Semivariance at a lag over the belief: on the analyte's working scale (raw or log). */
export interface VariogramChart {
  /** Experimental bins (classical estimator); empty with no test points. */
  readonly bins: readonly { readonly distanceM: number; readonly gamma: number; readonly pairs: number }[];
  readonly weightedLeastSquares?: VariogramModelSummary;
  readonly reml?: VariogramModelSummary & { readonly logLikelihood: number };
  /** The belief's band: semivariance at each lag, 10th, 50th, 90th percentile. */
  readonly band: readonly {
    readonly distanceM: number;
    readonly low: number;
    readonly mid: number;
    readonly high: number;
  }[];
  /** Whether bins, fits and band are of what a linear trend leaves. */
  readonly withoutTrend?: boolean;
}

export type StructureKind = 'structured' | 'none at this spacing' | 'too few to tell' | 'no points';

export interface AnalyteAdvice {
  readonly id: string;
  readonly label: string;
  /** Unit of `summary` and `belief.mean`: `mg/kg`, `%`, `pH`, `cmol(+)/kg`, … */
  readonly unit: string;
  /** Working scale; errors are in per cent of the value on `log`, in `unit` otherwise. */
  readonly scale: WorkingScale;
  readonly scaleWhy: string;
  readonly errorUnit: string;
  readonly summary?: {
    readonly n: number;
    readonly mean: number;
    readonly median: number;
    readonly sd: number;
    readonly min: number;
    readonly max: number;
    readonly skewness: number;
    readonly belowDetection: number;
    /** Coefficient of variation, a fraction, with its classical interval (independent samples). */
    readonly cv: Interval;
  };
  readonly belief: {
    readonly cv: Interval;
    readonly rangeM: Interval;
    readonly nuggetShare: Interval;
    readonly mean: Interval;
    readonly members: number;
    readonly effectiveSampleSize: number;
    /** What the belief rests on, a sentence each, with its source. */
    readonly restsOn: readonly string[];
  };
  /** A linear trend held against a constant mean; absent with fewer than 20 values. */
  readonly trend?: TrendAdvice;
  readonly variogram: VariogramChart;
  readonly structure: {
    readonly kind: StructureKind;
    readonly sentence: string;
    /** What to do next about it. */
    readonly next: string;
    /** A small sample that would tell more. */
    readonly nestedSample?: NestedSample;
    readonly moranI?: number;
    readonly moranP?: number;
  };
  /** Points that ask for a second look: kept unless the user sets them aside by `key`. */
  readonly standOut: readonly {
    readonly key: string;
    /** Row in the file of test points. */
    readonly row: number;
    readonly kind: OutlierKind;
    readonly value: number;
    readonly xM: number;
    readonly yM: number;
    readonly sentence: string;
  }[];
  /** Expected money lost to wrong rates, per hectare and year, per design id; absent when no rate is known. */
  readonly lossPerHaYear?: Readonly<Record<string, Interval>>;
  readonly rateSource?: string;
  /** Error of endless square grids, coarsest first: of the property that leads, where the ground has no direction. */
  readonly endlessLattice?: readonly EndlessPoint[];
}

/** Typical (median over the field) and bad-spot (P90) standard error of one application block. */
export interface DesignError {
  readonly typical: Interval;
  readonly badSpot: number;
  /** Of maps: the typical error when each cell takes its own sample's value instead of the interpolated one. */
  readonly ownCell?: Interval;
}

export interface DesignOutcome {
  /** `whole`, `zones-3`, `grid-5` (nominal area per stop in the user's unit). */
  readonly id: string;
  readonly kind: DesignKind;
  /** "one sample per 5 acres", "3 zones", "one mixed sample". */
  readonly label: string;
  /** Laboratory samples. */
  readonly samples: number;
  readonly haPerSample: number;
  /** Distance between neighbouring stops of a grid. */
  readonly spacingM?: number;
  readonly coresPerSample: number;
  /** What the zones are drawn from; absent for other designs. */
  readonly zonesFrom?: ZoneMap['from'];
  /** How a grid's stops are laid, and the other ways with their errors over the best's. */
  readonly placements?: readonly { readonly shape: GridShape; readonly relativeError: number }[];
  readonly cost: {
    readonly laboratory: number;
    readonly shipping?: number;
    /** Own hours in the field, where they count as money. */
    readonly labour: number;
    readonly hired?: number;
    readonly mapping?: number;
    /** Getting there and back. */
    readonly travel?: number;
    readonly hours: number;
    readonly walkM: number;
    /** One sampling of the whole field. */
    readonly total: number;
    readonly perHa: number;
    /** Spread over the years between samplings. */
    readonly perHaYear: number;
  };
  /** Error per analyte id, in that analyte's errorUnit. */
  readonly errors: Readonly<Record<string, DesignError>>;
  /** Sum over analytes with a rate. */
  readonly lossPerHaYear: Interval;
  /** Sampling cost plus expected loss; `mid` is the belief's mean and decides. */
  readonly totalPerHaYear: Interval;
  /** What its tests are expected to save against one rate set without tests, per hectare and year. */
  readonly valueOfInformation?: Interval;
  readonly admissible: boolean;
  readonly whyNot?: string;
  /** Within the tolerance of the cheapest: part of the plateau. */
  readonly nearBest: boolean;
}

export interface Stop {
  /** Walking order from 1. */
  readonly order: number;
  readonly label: string;
  readonly xM: number;
  readonly yM: number;
  /** World coordinates in the input's own kind. */
  readonly world: readonly [number, number];
  readonly cores: number;
  /** Sample this stop's cores go into: a stop of its own on a grid, the zone's bag for zones. */
  readonly sample: string;
  /** How far it was moved off a headland or ground to keep out of, m; absent where it stands as designed. */
  readonly movedM?: number;
  /** It lies on such ground, and there is no clear ground near to move it to. */
  readonly noClearGround?: boolean;
  /** Label of the stop that this is the close partner of. */
  readonly pairOf?: string;
}

export interface Verdict {
  readonly designId: string;
  /** "Take one sample per 5 acres: 32 samples, about 940 USD, 5 hours." */
  readonly headline: string;
  /** Why, in about three sentences with the figures used. */
  readonly why: readonly string[];
  readonly confidence: {
    /** Share of the belief in which this design is within the tolerance of that member's best. */
    readonly share: number;
    readonly words: 'sure' | 'fairly sure' | 'unsure';
    readonly sentence: string;
  };
  readonly nextTighter?: {
    readonly designId: string;
    readonly extraCost: number;
    readonly extraSaved: number;
    readonly savedPerExtra: number;
    readonly sentence: string;
  };
  /** What would change the answer. */
  readonly wouldChange: readonly string[];
  readonly leadAnalyte?: string;
  readonly cautions: readonly string[];
}

/** Last time's spacing held against this answer. */
export interface SpacingReview {
  readonly call: 'tighten' | 'keep' | 'relax';
  readonly lastHaPerSample: number;
  readonly advisedHaPerSample: number;
  readonly sentence: string;
}

export interface Advice {
  readonly tool: { readonly name: 'lagstep'; readonly version: string };
  readonly field: {
    readonly name: string;
    readonly areaHa: number;
    readonly boundarySource: 'given' | 'drawn around the points' | 'a square of the stated area';
    readonly frame: Frame;
    readonly region: Region;
    readonly soilUnits: readonly {
      readonly label: string;
      readonly region: Region;
      readonly areaHa: number;
    }[];
    /** Ground that no stop may lie on; absent where none was given. */
    readonly keepOut?: readonly KeepOut[];
    /** Old test points: x0, y0, … metres. */
    readonly oldPoints: readonly number[];
    /** Where places are alike over a longer distance one way than across: ranges are then those of that direction. */
    readonly direction?: Direction;
    /** Zone map of the chosen design on a lattice, when it is a zone design. */
    readonly zoneCells?: readonly {
      readonly xM: number;
      readonly yM: number;
      readonly sizeM: number;
      readonly zone: number;
    }[];
  };
  readonly inputs: readonly InputReport[];
  readonly options: AdviceOptions;
  readonly analytes: readonly AnalyteAdvice[];
  /** What test points say of the zones compared. */
  readonly zoneEvidence?: ZoneEvidence;
  /** Coarsest first: whole field, zones, then grids from the widest to the tightest. */
  readonly designs: readonly DesignOutcome[];
  readonly verdict: Verdict;
  /** Of the chosen design, in walking order. */
  readonly stops: readonly Stop[];
  /** What keeping off headlands and other ground did to the stops; absent where it did nothing. */
  readonly stopsMoved?: StopsMoved;
  /** Whether last time's places are taken again; absent where that was not asked for. */
  readonly lastPositions?: LastPositions;
  /** Stops with a second sample close by; absent where none was asked for. */
  readonly closePairs?: ClosePairs;
  readonly review?: SpacingReview;
  /** What rates rest on and what tests are worth; absent where no property has a rate. */
  readonly money?: MoneyAdvice;
}
