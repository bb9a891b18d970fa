/** One way to sample a field, with what is lost in the seasons after it. */
export interface TimedOption {
  readonly id: string;
  readonly samples: number;
  /** Money each time. */
  readonly cost: number;
  /** Money lost a year in the season that is so many years after the sampling; 0 is the first season. */
  readonly lossPerYearAtAge: (ageYears: number) => number;
}

/** What a field loses as it stands, and the ways it may be sampled. */
export interface FieldOutlook {
  readonly id: string;
  /**
   * Seasons used up since the last sampling, as of the coming one; Infinity for never. Ages the loss of a field that is
   * left alone.
   */
  readonly ageYears: number;
  /** Money lost a year at an age, if it is not sampled; at Infinity for a field never sampled. */
  readonly lossPerYearAtAge: (ageYears: number) => number;
  readonly options: readonly TimedOption[];
  /** What is settled for the first year: an option's id, any option, or to leave the field. */
  readonly firstYear?: { readonly option: string } | 'sample' | 'leave out';
}

/** Most that may be done in one year; what is absent has no limit. */
export interface YearBudget {
  readonly money?: number;
  /** Stops a day times days at hand. */
  readonly samples?: number;
}

export interface ScheduleOptions {
  /** Years a sampling serves: what of them lies beyond the horizon is credited its share of the cost. */
  readonly yearsKept: number;
  /** Fields are tried in this many rounds of prices. */
  readonly rounds?: number;
}

/** Why a field stands where it does. */
export type DueReason =
  /** In the year that would be best for it with no limit. */
  | 'best year'
  /** The same, and it has never been sampled. */
  | 'never sampled'
  /** Later than would be best: what others lose by waiting is more. */
  | 'waits for money'
  /** Earlier than would be best: there is money now and less later. */
  | 'brought forward'
  /** Would pay, but no year has room for it. */
  | 'no room'
  /** Doesn't pay within the horizon. */
  | 'does not pay yet';

export interface FieldPlan {
  readonly field: string;
  /** Years from the first, 0, in which it is sampled. */
  readonly years: readonly number[];
  readonly option?: string;
  /** First of `years`. */
  readonly dueYear?: number;
  /** The same, had there been no limit. */
  readonly dueUnlimited?: number;
  readonly reason: DueReason;
  /** Money lost over the horizon by not having its best years. */
  readonly costOfWaiting: number;
  /** Losses and sampling over the horizon. */
  readonly total: number;
}

export interface Schedule {
  readonly fields: readonly FieldPlan[];
  /** Per year: what is spent, samples, and what the fields lose in the season after. */
  readonly years: readonly { readonly cost: number; readonly samples: number; readonly loss: number }[];
  /** Losses and sampling of all fields over the horizon, less the credit for what serves beyond it. */
  readonly total: number;
  /** No plan within the budgets that keeps what is settled can cost less than this; loose for a handful of fields. */
  readonly bound: number;
  readonly gap: number;
  /** Share of what sampling can save: total without sampling less `bound`. */
  readonly relativeGap: number;
  /** What one more unit of money in each year would save over the horizon, at the margin of the bound. */
  readonly shadowPerMoney: readonly number[];
  /** By how much the least that is settled for the first year exceeds its budget; 0 and 0 as a rule. */
  readonly over: { readonly money: number; readonly samples: number };
}

/** Longest horizon: patterns of years double with each. */
export const MOST_YEARS = 6;
const ROUNDS = 160;
/** A plan is made of the prices every so many rounds. */
const PLAN_EVERY = 8;
/** Up to this many plans (pattern and option), pairs of fields are tried together. */
const MOST_FOR_PAIRS = 2600;

/**
 * Which fields to sample in which year. A field may be sampled in any years of the horizon, by one of its options; each
 * season it loses what its age says, and sampling costs. Chosen so that losses and costs over the horizon are least,
 * within what each year allows.
 *
 * Lagrangian relaxation: prices on each year's money and samples are moved by subgradient steps (Held, Wolfe & Crowder
 * 1974, from memory); any prices give a valid bound. Plans are made from the prices, field by field in order of regret,
 * then improved by changing one field at a time and, on small farms, two.
 * Ties go to earlier years, and to the field given first.
 * @param budgets one per year, the first being this autumn; 1 to 6 of them
 * @throws RangeError on a horizon out of range or a figure that cannot be
 */
export function scheduleYears(
  fields: readonly FieldOutlook[],
  budgets: readonly YearBudget[],
  { yearsKept, rounds = ROUNDS }: ScheduleOptions,
): Schedule {
  const years = budgets.length;
  if (years < 1 || years > MOST_YEARS)
    throw new RangeError(`A horizon of ${years} years is not from 1 to ${MOST_YEARS}.`);
  if (!(yearsKept > 0)) throw new RangeError(`${yearsKept} years kept cannot be.`);
  const money = budgets.map((b) => limitOf(b.money));
  const stops = budgets.map((b) => limitOf(b.samples));
  const table = plansOf(fields, years, yearsKept);
  // What is settled is done; the rest is judged as if the budget just covered it.
  const settled = settledPlans(table);
  const least = { money: 0, samples: 0 };
  for (const p of settled)
    if (table.mask[p] & 1) {
      least.money += table.cost[p];
      least.samples += table.samples[p];
    }
  const over = {
    money: Math.max(0, least.money - money[0]),
    samples: Math.max(0, least.samples - stops[0]),
  };
  money[0] = Math.max(money[0], least.money);
  stops[0] = Math.max(stops[0], least.samples);
  const state: State = { table, settled, money, stops, years };

  let best = construct(state, new Float64Array(years), new Float64Array(years));
  const priceMoney = new Float64Array(years);
  const priceStops = new Float64Array(years);
  const average = meanCosts(table);
  let bound = -Infinity;
  let shadow = new Float64Array(years);
  let pace = 1;
  let sinceBetter = 0;
  for (let round = 0; round < rounds; round++) {
    const relaxed = relaxedAt(state, priceMoney, priceStops);
    if (relaxed.bound > bound + 1e-9 * (1 + Math.abs(relaxed.bound))) {
      bound = relaxed.bound;
      shadow = Float64Array.from(priceMoney);
      sinceBetter = 0;
    } else if (++sinceBetter >= 6) {
      pace /= 2;
      sinceBetter = 0;
    }
    if (round % PLAN_EVERY === 0) {
      const found = construct(state, priceMoney, priceStops);
      if (found.total < best.total - 1e-9) best = found;
    }
    if (best.total - bound <= 1e-9 * (1 + Math.abs(best.total))) break;
    if (!movePrices(relaxed, priceMoney, priceStops, pace * (best.total - relaxed.bound), state, average))
      break;
  }
  bound = Math.min(bound, best.total);
  return describe(fields, state, best, bound, shadow, over);
}

function limitOf(given: number | undefined): number {
  if (given === undefined) return Infinity;
  if (!(given >= 0)) throw new RangeError(`A yearly limit of ${given} cannot be.`);
  return given;
}

/** All plans of all fields: a set of years (as bits) and an option; field i has those from `start[i]` to `start[i + 1]`. */
interface Plans {
  readonly start: Int32Array;
  readonly mask: Uint8Array;
  /** Index of the option in its field; -1 for no sampling. */
  readonly option: Int16Array;
  readonly cost: Float64Array;
  readonly samples: Float64Array;
  /** Losses and sampling over the horizon. */
  readonly total: Float64Array;
  /** 1 where it goes with what is settled for the first year. */
  readonly open: Uint8Array;
}

interface State {
  readonly table: Plans;
  /** Each field's least plan. */
  readonly settled: Int32Array;
  readonly money: readonly number[];
  readonly stops: readonly number[];
  readonly years: number;
}

interface Chosen {
  readonly plan: Int32Array;
  readonly total: number;
}

function plansOf(fields: readonly FieldOutlook[], years: number, yearsKept: number): Plans {
  const start = new Int32Array(fields.length + 1);
  const [mask, option, cost, samples, total, open]: number[][] = [[], [], [], [], [], []];
  fields.forEach((f, i) => {
    const { firstYear } = f;
    const put = (bits: number, k: number) => {
      const o = k < 0 ? undefined : f.options[k];
      mask.push(bits);
      option.push(k);
      cost.push(o?.cost ?? 0);
      samples.push(o?.samples ?? 0);
      total.push(totalOf(f, o, bits, years, yearsKept));
      open.push(goesWith(firstYear, bits, o) ? 1 : 0);
    };
    // Fewer and earlier years stand first, so that they win ties.
    put(0, -1);
    for (let bits = 1; bits < 1 << years; bits++) for (let k = 0; k < f.options.length; k++) put(bits, k);
    start[i + 1] = mask.length;
    if (!open.slice(start[i]).includes(1))
      throw new RangeError(`Field ${f.id} has no option of the name settled for the first year.`);
  });
  const bad = total.findIndex((t) => !Number.isFinite(t));
  if (bad >= 0 || cost.some((c) => !(c >= 0)) || samples.some((s) => !(s >= 0)))
    throw new RangeError('A loss, cost or number of samples of a field cannot be.');
  return {
    start,
    mask: Uint8Array.from(mask),
    option: Int16Array.from(option),
    cost: Float64Array.from(cost),
    samples: Float64Array.from(samples),
    total: Float64Array.from(total),
    open: Uint8Array.from(open),
  };
}

function goesWith(firstYear: FieldOutlook['firstYear'], bits: number, o: TimedOption | undefined): boolean {
  if (firstYear === undefined) return true;
  const first = (bits & 1) === 1;
  if (firstYear === 'leave out') return !first;
  return first && (firstYear === 'sample' || o?.id === firstYear.option);
}

/** Seasons' losses of a field under a plan, one per year of the horizon. */
function lossesOf(f: FieldOutlook, o: TimedOption | undefined, bits: number, years: number): number[] {
  let age = f.ageYears;
  let loss = f.lossPerYearAtAge;
  return Array.from({ length: years }, (_, t) => {
    if (o !== undefined && (bits >> t) & 1) [age, loss] = [0, o.lossPerYearAtAge];
    return loss(age++);
  });
}

/**
 * Losses and sampling over the horizon. The last sampling goes on serving: what is left of its years is worth that share
 * of its cost (judgement of this project), else nothing would be sampled near the end.
 */
function totalOf(
  f: FieldOutlook,
  o: TimedOption | undefined,
  bits: number,
  years: number,
  yearsKept: number,
): number {
  const losses = lossesOf(f, o, bits, years).reduce((s, l) => s + l, 0);
  if (o === undefined) return losses;
  let times = 0;
  for (let b = bits; b > 0; b &= b - 1) times++;
  const used = years - (31 - Math.clz32(bits));
  return losses + o.cost * (times - Math.max(0, 1 - used / yearsKept));
}

interface Relaxed {
  readonly bound: number;
  readonly spent: Float64Array;
  readonly taken: Float64Array;
}

/** Each field's best plan when years' money and samples have prices; the sum, less the priced budgets, is a bound. */
function relaxedAt(
  { table, money, stops, years }: State,
  priceMoney: Float64Array,
  priceStops: Float64Array,
): Relaxed {
  const spent = new Float64Array(years);
  const taken = new Float64Array(years);
  let bound = 0;
  for (let t = 0; t < years; t++) {
    if (priceMoney[t] > 0) bound -= priceMoney[t] * money[t];
    if (priceStops[t] > 0) bound -= priceStops[t] * stops[t];
  }
  const byMask = pricesByMask(priceMoney, priceStops, years);
  for (let i = 0; i + 1 < table.start.length; i++) {
    let [least, at] = [Infinity, -1];
    for (let p = table.start[i]; p < table.start[i + 1]; p++) {
      if (!table.open[p]) continue;
      const priced = table.total[p] + pricedBy(byMask, table, p);
      if (priced < least) [least, at] = [priced, p];
    }
    bound += least;
    for (let t = 0; t < years; t++)
      if ((table.mask[at] >> t) & 1) {
        spent[t] += table.cost[at];
        taken[t] += table.samples[at];
      }
  }
  return { bound, spent, taken };
}

interface MaskPrices {
  readonly money: Float64Array;
  readonly stops: Float64Array;
}

/** Sums of the years' prices for each set of years. */
function pricesByMask(priceMoney: Float64Array, priceStops: Float64Array, years: number): MaskPrices {
  const money = new Float64Array(1 << years);
  const stops = new Float64Array(1 << years);
  for (let bits = 1; bits < money.length; bits++) {
    const t = 31 - Math.clz32(bits & -bits);
    money[bits] = money[bits & (bits - 1)] + priceMoney[t];
    stops[bits] = stops[bits & (bits - 1)] + priceStops[t];
  }
  return { money, stops };
}

const pricedBy = (by: MaskPrices, { mask, cost, samples }: Plans, p: number): number =>
  by.money[mask[p]] * cost[p] + by.stops[mask[p]] * samples[p];

/** Typical money and samples of a plan that samples, so that steps of the two kinds of price are of one size. */
function meanCosts({ cost, samples }: Plans): { readonly money: number; readonly stops: number } {
  const mean = (v: Float64Array) => v.reduce((s, x) => s + x, 0) / Math.max(1, v.length) || 1;
  return { money: mean(cost), stops: mean(samples) };
}

/** A subgradient step of Polyak's length. @returns whether any price moved */
function movePrices(
  { spent, taken }: Relaxed,
  priceMoney: Float64Array,
  priceStops: Float64Array,
  reach: number,
  { money, stops, years }: State,
  average: { readonly money: number; readonly stops: number },
): boolean {
  const excess = (used: number, limit: number, unit: number, price: number) => {
    const e = Number.isFinite(limit) ? (used - limit) / unit : 0;
    return e < 0 && price <= 0 ? 0 : e;
  };
  let square = 0;
  for (let t = 0; t < years; t++) {
    square += excess(spent[t], money[t], average.money, priceMoney[t]) ** 2;
    square += excess(taken[t], stops[t], average.stops, priceStops[t]) ** 2;
  }
  if (square === 0 || !(reach > 0)) return false;
  const step = reach / square;
  for (let t = 0; t < years; t++) {
    const m = excess(spent[t], money[t], average.money, priceMoney[t]);
    const s = excess(taken[t], stops[t], average.stops, priceStops[t]);
    priceMoney[t] = Math.max(0, priceMoney[t] + (step * m) / average.money);
    priceStops[t] = Math.max(0, priceStops[t] + (step * s) / average.stops);
  }
  return true;
}

interface Room {
  readonly money: Float64Array;
  readonly stops: Float64Array;
}

/** Whether a plan fits into what is left of each year. */
function fitsIn({ money, stops }: Room, { mask, cost, samples }: Plans, p: number, years: number): boolean {
  for (let t = 0; t < years; t++)
    if ((mask[p] >> t) & 1 && (cost[p] > money[t] + 1e-9 * (1 + cost[p]) || samples[p] > stops[t] + 1e-9))
      return false;
  return true;
}

function takeFrom({ money, stops }: Room, { mask, cost, samples }: Plans, p: number, sign: number): void {
  for (let t = 0; t < money.length; t++)
    if ((mask[p] >> t) & 1) {
      money[t] -= sign * cost[p];
      stops[t] -= sign * samples[p];
    }
}

/** A plan for every field: at first the least that is settled, then the best that fits, the most regretted first; then improved. */
function construct(state: State, priceMoney: Float64Array, priceStops: Float64Array): Chosen {
  const { table, settled, years } = state;
  const n = table.start.length - 1;
  const room: Room = { money: Float64Array.from(state.money), stops: Float64Array.from(state.stops) };
  const byMask = pricesByMask(priceMoney, priceStops, years);
  const plan = new Int32Array(n);
  const regret = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const base = settled[i];
    let least = Infinity;
    for (let p = table.start[i]; p < table.start[i + 1]; p++)
      if (table.open[p]) least = Math.min(least, table.total[p] + pricedBy(byMask, table, p));
    plan[i] = base;
    takeFrom(room, table, base, 1);
    regret[i] = table.total[base] + pricedBy(byMask, table, base) - least;
  }
  // Per money, since large fields would otherwise crowd out several small ones.
  const rate = regret.map((r, i) => r / (cheapest(table, i) || 1));
  const order = Int32Array.from(plan, (_, i) => i).sort((a, b) => rate[b] - rate[a] || a - b);
  for (const i of order) rechoose(state, room, plan, i, byMask);
  const noPrices = pricesByMask(new Float64Array(years), new Float64Array(years), years);
  for (let again = true, k = 0; again && k < 20; k++) {
    again = false;
    for (const i of order) if (rechoose(state, room, plan, i, noPrices)) again = true;
    if (!again) again = improvePairs(state, room, plan);
  }
  return { plan, total: plan.reduce((s, p) => s + table.total[p], 0) };
}

/** The open plan of each field with the fewest samplings, the cheapest of these. */
function settledPlans({ start, mask, cost, open }: Plans): Int32Array {
  return Int32Array.from({ length: start.length - 1 }, (_, i) => {
    let best = -1;
    for (let p = start[i]; p < start[i + 1]; p++) {
      if (!open[p]) continue;
      const by = best < 0 ? -1 : bitsOf(mask[p]) - bitsOf(mask[best]) || cost[p] - cost[best];
      if (by < 0) best = p;
    }
    return best;
  });
}

function bitsOf(mask: number): number {
  let bits = 0;
  for (let b = mask; b > 0; b &= b - 1) bits++;
  return bits;
}

function cheapest({ start, cost }: Plans, i: number): number {
  let least = Infinity;
  for (let p = start[i]; p < start[i + 1]; p++) if (cost[p] > 0) least = Math.min(least, cost[p]);
  return Number.isFinite(least) ? least : 0;
}

/** Gives one field the plan that is best for it in the room the others leave. @returns whether it changed */
function rechoose(
  { table, years }: State,
  room: Room,
  plan: Int32Array,
  i: number,
  byMask: MaskPrices,
): boolean {
  const before = plan[i];
  takeFrom(room, table, before, -1);
  let [best, least] = [before, table.total[before] + pricedBy(byMask, table, before) - 1e-9];
  for (let p = table.start[i]; p < table.start[i + 1]; p++) {
    if (!table.open[p]) continue;
    const priced = table.total[p] + pricedBy(byMask, table, p);
    if (priced < least && fitsIn(room, table, p, years)) [best, least] = [p, priced];
  }
  plan[i] = best;
  takeFrom(room, table, best, 1);
  return best !== before;
}

/** The first pair of fields that do better by changing together, changed. @returns whether there was one */
function improvePairs({ table, years }: State, room: Room, plan: Int32Array): boolean {
  const { start, total, open } = table;
  if (total.length > MOST_FOR_PAIRS) return false;
  for (let i = 0; i < plan.length; i++) {
    const a = plan[i];
    takeFrom(room, table, a, -1);
    for (let p = start[i]; p < start[i + 1]; p++) {
      if (!open[p] || p === a) continue;
      takeFrom(room, table, p, 1);
      for (let j = 0; j < plan.length; j++) {
        if (j === i) continue;
        const b = plan[j];
        takeFrom(room, table, b, -1);
        for (let q = start[j]; q < start[j + 1]; q++) {
          if (!open[q] || total[p] + total[q] >= total[a] + total[b] - 1e-9) continue;
          // The room already lacks p; q has to fit, and p's overdraft has to be made good by j's change.
          takeFrom(room, table, q, 1);
          if (withinRoom(room, years)) {
            plan[i] = p;
            plan[j] = q;
            return true;
          }
          takeFrom(room, table, q, -1);
        }
        takeFrom(room, table, b, 1);
      }
      takeFrom(room, table, p, -1);
    }
    takeFrom(room, table, a, 1);
  }
  return false;
}

function withinRoom({ money, stops }: Room, years: number): boolean {
  for (let t = 0; t < years; t++) if (money[t] < -1e-7 || stops[t] < -1e-7) return false;
  return true;
}

function describe(
  fields: readonly FieldOutlook[],
  { table, years }: State,
  best: Chosen,
  bound: number,
  shadow: Float64Array,
  over: Schedule['over'],
): Schedule {
  const perYear = Array.from({ length: years }, () => ({ cost: 0, samples: 0, loss: 0 }));
  let idle = 0;
  const plans = fields.map((f, i): FieldPlan => {
    const p = best.plan[i];
    const o = f.options[table.option[p]];
    const sampled = yearsIn(table.mask[p], years);
    for (const t of sampled) {
      perYear[t].cost += table.cost[p];
      perYear[t].samples += table.samples[p];
    }
    lossesOf(f, o, table.mask[p], years).forEach((l, t) => (perYear[t].loss += l));
    idle += table.total[table.start[i]];
    let free = p;
    for (let q = table.start[i]; q < table.start[i + 1]; q++)
      if (table.open[q] && table.total[q] < table.total[free] - 1e-9) free = q;
    const dueUnlimited = yearsIn(table.mask[free], years).at(0);
    const dueYear = sampled.at(0);
    return {
      field: f.id,
      years: sampled,
      option: o?.id,
      dueYear,
      dueUnlimited,
      reason: reasonOf(dueYear, dueUnlimited, f.ageYears),
      costOfWaiting: Math.max(0, table.total[p] - table.total[free]),
      total: table.total[p],
    };
  });
  const gap = best.total - bound;
  return {
    fields: plans,
    years: perYear,
    total: best.total,
    bound,
    gap,
    relativeGap: idle > bound ? gap / (idle - bound) : 0,
    shadowPerMoney: [...shadow],
    over,
  };
}

const yearsIn = (mask: number, years: number): number[] =>
  Array.from({ length: years }, (_, t) => t).filter((t) => (mask >> t) & 1);

function reasonOf(due: number | undefined, unlimited: number | undefined, ageYears: number): DueReason {
  if (due === undefined) return unlimited === undefined ? 'does not pay yet' : 'no room';
  if (unlimited === undefined || due < unlimited) return 'brought forward';
  if (due > unlimited) return 'waits for money';
  return ageYears === Infinity ? 'never sampled' : 'best year';
}

/**
 * Share of what a sampling told that is gone in the season that is so many years after it: none in the years it is kept
 * for, then evenly until twice those years are over. Judgement of this project, where no model of ageing is at hand.
 */
export function fadedShare(ageYears: number, yearsKept: number): number {
  return Math.min(1, Math.max(0, (ageYears - yearsKept + 1) / yearsKept));
}
