import { perAcreToPerHa } from '../units/index.ts';

/** One sampling of a field, as far as its cost goes. */
export interface SamplingPlan {
  readonly areaHa: number;
  /** Bags that go to the laboratory. */
  readonly samples: number;
  readonly coresPerSample: number;
  /** Places gone to: the stops of a grid, every core's own place in cells and zones. */
  readonly places: number;
  /** Metres walked or driven in the field. */
  readonly routeM: number;
  /** Times one goes to the field; as many as the work takes days unless given. */
  readonly visits?: number;
  /** Whether a map is made of the results; of more than one sample unless given. */
  readonly mapped?: boolean;
}

/** Everything a sampling is reckoned with, as data. Money in any one currency; see `costFields` for limits and sources. */
export interface CostRates {
  /** Laboratory's price of a sample. */
  readonly labPrice: number;
  readonly shippingPerParcel: number;
  readonly samplesPerParcel: number;
  /** Shipping that goes by the sample, beside or instead of parcels. */
  readonly shippingPerSample: number;
  /** Bagging, labelling and noting one sample. */
  readonly minutesPerSample: number;
  /** Finding a place and getting ready there. */
  readonly minutesPerPlace: number;
  readonly minutesPerCore: number;
  /** Pace between places. */
  readonly metresPerHour: number;
  /** Most hours worked in the field before going home. */
  readonly hoursPerVisit: number;
  /** There and back, with getting started. */
  readonly travelMinutesPerVisit: number;
  /** Vehicle there and back. */
  readonly travelCostPerVisit: number;
  /** Who pulls the samples: oneself or one's own people, or a sampler who is paid by area and sample. */
  readonly sampler: 'own' | 'hired';
  readonly labourPerHour: number;
  /** Whether one's own hours count as money. */
  readonly countOwnTime: boolean;
  readonly hiredPerHa: number;
  readonly hiredPerSample: number;
  /** Making and keeping the map. */
  readonly mappingPerHa: number;
}

/** Paces between places, m/h. Judgement of this project: 4 to 5 km/h over stubble on foot; a utility vehicle that stops often. */
export const paces = { onFoot: 4500, utilityVehicle: 12_000 } as const;

/** What is reckoned with unless the user says otherwise, money in USD. Sources in `costFields`. */
export const usualCostRates: CostRates = {
  labPrice: 27.5,
  shippingPerParcel: 20,
  samplesPerParcel: 30,
  shippingPerSample: 0,
  minutesPerSample: 1.5,
  minutesPerPlace: 0.5,
  minutesPerCore: 0.5,
  metresPerHour: paces.onFoot,
  hoursPerVisit: 8,
  travelMinutesPerVisit: 30,
  travelCostPerVisit: 15,
  sampler: 'own',
  labourPerHour: 45,
  countOwnTime: true,
  hiredPerHa: perAcreToPerHa(1.5),
  hiredPerSample: 0,
  mappingPerHa: 0,
};

/** What one sampling takes. The seven items of money add up to `total`. */
export interface SamplingCost {
  readonly laboratory: number;
  readonly shipping: number;
  /** Own hours in the field, where they count. */
  readonly labour: number;
  readonly hired: number;
  readonly mapping: number;
  /** Getting there and back: the vehicle, and own hours where they count. */
  readonly travel: number;
  /** Hours of whoever does it, in the field and on the way there and back. */
  readonly hours: number;
  readonly visits: number;
  readonly walkM: number;
  readonly total: number;
}

/**
 * Cost of one sampling, item by item. A hired sampler's pay covers the hours and the way; a plan without samples costs
 * nothing.
 * @throws RangeError for counts or lengths below 0, a pace, day or parcel not above 0
 */
export function costOfSampling(plan: SamplingPlan, rates: CostRates): SamplingCost {
  const { areaHa, samples, coresPerSample, places, routeM, mapped = samples > 1 } = plan;
  for (const [what, amount] of Object.entries({ areaHa, samples, coresPerSample, places, routeM }))
    if (!(amount >= 0)) throw new RangeError(`A sampling's ${what} is 0 or more, not ${amount}.`);
  const { metresPerHour, hoursPerVisit, samplesPerParcel } = rates;
  for (const [what, amount] of Object.entries({ metresPerHour, hoursPerVisit, samplesPerParcel }))
    if (!(amount > 0)) throw new RangeError(`${what} is above 0, not ${amount}.`);

  const handling =
    samples * rates.minutesPerSample +
    places * rates.minutesPerPlace +
    samples * coresPerSample * rates.minutesPerCore;
  const fieldHours = handling / 60 + routeM / metresPerHour;
  const visits = plan.visits ?? (samples > 0 ? Math.max(1, Math.ceil(fieldHours / hoursPerVisit)) : 0);
  const travelHours = (visits * rates.travelMinutesPerVisit) / 60;

  const hiredOne = rates.sampler === 'hired';
  const ownHour = !hiredOne && rates.countOwnTime ? rates.labourPerHour : 0;
  const laboratory = samples * rates.labPrice;
  const shipping =
    Math.ceil(samples / samplesPerParcel) * rates.shippingPerParcel + samples * rates.shippingPerSample;
  const labour = fieldHours * ownHour;
  const hired = hiredOne && samples > 0 ? areaHa * rates.hiredPerHa + samples * rates.hiredPerSample : 0;
  const mapping = mapped ? areaHa * rates.mappingPerHa : 0;
  const travel = hiredOne ? 0 : visits * rates.travelCostPerVisit + travelHours * ownHour;
  return {
    ...{ laboratory, shipping, labour, hired, mapping, travel },
    hours: fieldHours + travelHours,
    visits,
    walkM: routeM,
    total: laboratory + shipping + labour + hired + mapping + travel,
  };
}
