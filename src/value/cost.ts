/** What one sampling of a field takes. */
export interface SamplingCost {
  readonly laboratory: number;
  readonly labour: number;
  readonly hours: number;
  readonly walkM: number;
  readonly total: number;
}

export interface CostRates {
  readonly labPrice: number;
  readonly labourPerHour: number;
}

/** Pulling one core, minutes; bagging and noting one sample, minutes; pace between stops, m/h. Judgement of this project. */
export const MINUTES_PER_CORE = 0.5;
export const MINUTES_PER_SAMPLE = 2;
export const PACE_M_PER_HOUR = 5000;

/**
 * Cost of pulling `samples` bags with `cores` cores each from `places` places of a field.
 * The walk through evenly spread places is taken as one spacing √(A/n) a stop, so √(n·A) in all, unless a length is
 * given; points strewn at random would need 0.71 of it (Beardwood, Halton & Hammersley 1959).
 */
export function samplingCost(
  areaHa: number,
  samples: number,
  cores: number,
  places: number,
  rates: CostRates,
  walkM = Math.sqrt(places * areaHa * 10_000),
): SamplingCost {
  const hours =
    (samples * MINUTES_PER_SAMPLE + samples * cores * MINUTES_PER_CORE) / 60 + walkM / PACE_M_PER_HOUR;
  const laboratory = samples * rates.labPrice;
  const labour = hours * rates.labourPerHour;
  return { laboratory, labour, hours, walkM, total: laboratory + labour };
}
