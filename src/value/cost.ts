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
 * The walk is the expected shortest tour through points spread over an area, 0.7124·√(n·A)
 * (Beardwood, Halton & Hammersley 1959; constant from Johnson & McGeoch 1996), unless a length is given.
 */
export function samplingCost(
  areaHa: number,
  samples: number,
  cores: number,
  places: number,
  rates: CostRates,
  walkM = 0.7124 * Math.sqrt(places * areaHa * 10_000),
): SamplingCost {
  const hours =
    (samples * MINUTES_PER_SAMPLE + samples * cores * MINUTES_PER_CORE) / 60 + walkM / PACE_M_PER_HOUR;
  const laboratory = samples * rates.labPrice;
  const labour = hours * rates.labourPerHour;
  return { laboratory, labour, hours, walkM, total: laboratory + labour };
}
