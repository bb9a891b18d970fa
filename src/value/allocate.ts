/** One way to sample a field, or to leave it for now. */
export interface FieldOption {
  readonly id: string;
  /** Laboratory samples; 0 for leaving the field. */
  readonly samples: number;
  /** Money, once. */
  readonly cost: number;
  /** What it is worth, in whatever is to be made as large as possible: money a year, net of the yearly cost. May be negative. */
  readonly benefit: number;
}

/** A field and what may be done with it. */
export interface FieldChoices {
  readonly id: string;
  readonly options: readonly FieldOption[];
  /** Must be sampled, must be left out, or must get the option of this id. */
  readonly fixed?: 'sample' | 'leave out' | { readonly option: string };
}

/** Most that may be spent over all fields; what is absent has no limit. */
export interface FarmBudget {
  readonly money?: number;
  readonly samples?: number;
}

/** A change of one field's option. */
export interface NextStep {
  readonly field: string;
  readonly from: string;
  readonly to: string;
  /** More money, more samples and more benefit than now. */
  readonly cost: number;
  readonly samples: number;
  readonly benefit: number;
}

export interface Allocation {
  /** One per field, in the order given. */
  readonly choices: readonly { readonly field: string; readonly option: FieldOption }[];
  readonly cost: number;
  readonly samples: number;
  readonly benefit: number;
  /** No choice within the budget can be worth more: the optimum when a field may take part of one option and part of another. */
  readonly bound: number;
  /** `bound` less `benefit`, and the same as a share of the bound. */
  readonly gap: number;
  readonly relativeGap: number;
  /** The search over what the gap leaves open came to its end: nothing within the budget is worth more. */
  readonly provenBest: boolean;
  /** Benefit that one more unit of money, or one more sample, would bring at the margin of the bound. */
  readonly shadow: { readonly perMoney: number; readonly perSample: number };
  /** What further money would buy, best first. */
  readonly next: readonly NextStep[];
  /** By how much the least that is forced exceeds the budget; 0 and 0 as a rule. */
  readonly over: { readonly money: number; readonly samples: number };
}

/** Nodes of the search for something better than greedy choice; some milliseconds. */
const SEARCH_NODES = 30_000;
/** Cuts that the price of a sample is sought with, when money and samples are both limited; a dozen are enough as a rule. */
const CUTS = 30;

/**
 * Divides a budget of money, samples or both over many fields, one option each (multiple-choice knapsack), so that the
 * sum of benefits is as large as can be.
 *
 * Each field's options are reduced to the upper concave hull of benefit over cost; steps along all hulls are bought in
 * order of benefit per unit of cost. That solves the linear relaxation (Sinha & Zoltners 1979; for concave curves Fox
 * 1966; from memory) and is the optimum itself when the budget ends on a step. What is left buys the best changes that
 * fit, options off the hull too; then a bounded search looks at those options that the gap doesn't rule out.
 * With money and samples both limited, the price of a sample is found by cutting planes on the Lagrangian dual.
 *
 * Steps that lower the benefit are never bought. Ties go to the field, then the option, that was given first.
 * @param nextShown most entries of `next`
 * @throws RangeError when a field has no option left, or a cost, number or limit is negative or not finite
 */
export function allocate(fields: readonly FieldChoices[], budget: FarmBudget, nextShown = 5): Allocation {
  const flat = flatten(fields);
  const least = leastOf(flat);
  const limit = {
    money: limitOf(budget.money, 'money'),
    samples: limitOf(budget.samples, 'samples'),
  };
  const over = {
    money: Math.max(0, least.cost - limit.money),
    samples: Math.max(0, least.samples - limit.samples),
  };
  // What is forced is done; the rest is judged as if the budget just covered it.
  const cap = {
    money: Math.max(limit.money, least.cost),
    samples: Math.max(limit.samples, least.samples),
  };
  const dual = solveRelaxation(flat, cap);
  const weight = weigh(flat, dual);
  const hulls = hullSteps(flat, weight, flat.benefit);
  const chosen = hulls.base;
  const left = {
    money: cap.money - sum(flat.cost, chosen),
    samples: cap.samples - sum(flat.samples, chosen),
  };
  if (!fits(left, 0, 0, cap)) restartFromLeast(flat, chosen, left, cap);
  else buyInOrder(flat, hulls, chosen, left, cap);
  fill(flat, chosen, left, cap);
  const provenBest = search(flat, dual, chosen, cap);

  const benefit = sum(flat.benefit, chosen);
  // Rounding may put the sum of the same numbers a hair above the bound.
  const bound = Math.max(dual.bound, benefit);
  const gap = bound - benefit;
  const spent = { cost: sum(flat.cost, chosen), samples: sum(flat.samples, chosen) };
  return {
    choices: fields.map((f, i) => ({ field: f.id, option: flat.options[chosen[i]] })),
    ...spent,
    benefit,
    bound,
    gap,
    relativeGap: bound > 0 ? gap / bound : 0,
    provenBest,
    shadow: { perMoney: dual.perMoney, perSample: dual.perSample },
    next: nextSteps(fields, flat, weight, chosen, nextShown),
    over,
  };
}

/**
 * The options on the upper concave hull of benefit over cost, cheapest first: those that can be worth buying at some
 * price of money.
 */
export function concaveOptions(options: readonly FieldOption[]): readonly FieldOption[] {
  const flat = flatten([{ id: '', options }]);
  const { base, to } = hullSteps(flat, flat.cost, flat.benefit);
  return [base[0], ...to].map((o) => flat.options[o]);
}

/** All allowed options of all fields, one after the other; field i has those from `start[i]` to `start[i + 1]`. */
interface Flat {
  readonly start: Int32Array;
  readonly cost: Float64Array;
  readonly samples: Float64Array;
  readonly benefit: Float64Array;
  readonly options: readonly FieldOption[];
}

interface Amount {
  money: number;
  samples: number;
}

function flatten(fields: readonly FieldChoices[]): Flat {
  const start = new Int32Array(fields.length + 1);
  const options: FieldOption[] = [];
  fields.forEach((f, i) => {
    for (const o of f.options) {
      const sane = o.cost >= 0 && o.samples >= 0 && Number.isFinite(o.cost + o.samples + o.benefit);
      if (!sane) throw new RangeError(`Option ${o.id} of field ${f.id} has a figure that cannot be.`);
      if (allowed(f, o)) options.push(o);
    }
    start[i + 1] = options.length;
    if (start[i + 1] === start[i]) throw new RangeError(`Field ${f.id} has no option to choose.`);
  });
  return {
    start,
    options,
    cost: Float64Array.from(options, (o) => o.cost),
    samples: Float64Array.from(options, (o) => o.samples),
    benefit: Float64Array.from(options, (o) => o.benefit),
  };
}

function allowed({ fixed }: FieldChoices, o: FieldOption): boolean {
  if (fixed === undefined) return true;
  if (fixed === 'sample') return o.samples > 0;
  return fixed === 'leave out' ? o.samples === 0 : o.id === fixed.option;
}

function limitOf(given: number | undefined, what: string): number {
  if (given === undefined) return Infinity;
  if (!(given >= 0)) throw new RangeError(`A budget of ${given} ${what} cannot be.`);
  return given;
}

/** The least money of each field, and the samples that go with it. */
function leastOf(flat: Flat): { readonly cost: number; readonly samples: number } {
  const chosen = leastChosen(flat);
  return { cost: sum(flat.cost, chosen), samples: sum(flat.samples, chosen) };
}

function leastChosen({ start, cost, samples, benefit }: Flat): Int32Array {
  const chosen = new Int32Array(start.length - 1);
  for (let i = 0; i < chosen.length; i++) {
    let best = start[i];
    for (let o = best + 1; o < start[i + 1]; o++) {
      const by = cost[o] - cost[best] || samples[o] - samples[best] || benefit[best] - benefit[o];
      if (by < 0) best = o;
    }
    chosen[i] = best;
  }
  return chosen;
}

function sum(of: Float64Array, chosen: Int32Array): number {
  let total = 0;
  for (const o of chosen) total += of[o];
  return total;
}

/** Whether more of both still fits; sums of the same numbers in another order may differ in their last digits. */
function fits(left: Amount, money: number, samples: number, cap: Amount): boolean {
  return money <= left.money + slack(cap.money) && samples <= left.samples + slack(cap.samples);
}

const slack = (cap: number): number => (Number.isFinite(cap) ? 1e-9 * (1 + cap) : 0);

/** Steps along the hulls of all fields, field by field, each field's in order; `base` is where each field starts. */
interface Hulls {
  readonly base: Int32Array;
  readonly field: readonly number[];
  readonly from: readonly number[];
  readonly to: readonly number[];
  /** Benefit per unit of weight. */
  readonly slope: readonly number[];
}

/** Upper concave hulls of `worth` over `weight`, from the lightest option of a field up to its worthiest. */
function hullSteps({ start }: Flat, weight: Float64Array, worth: Float64Array): Hulls {
  const n = start.length - 1;
  const hulls = {
    base: new Int32Array(n),
    field: [] as number[],
    from: [] as number[],
    to: [] as number[],
    slope: [] as number[],
  };
  let longest = 0;
  for (let i = 0; i < n; i++) longest = Math.max(longest, start[i + 1] - start[i]);
  const order = new Int32Array(longest);
  const hull = new Int32Array(longest);
  const slope = (a: number, b: number) => (worth[b] - worth[a]) / (weight[b] - weight[a]);
  for (let i = 0; i < n; i++) {
    const count = sortByWeight(order, start[i], start[i + 1], weight, worth);
    let top = 0;
    hull[0] = order[0];
    for (let k = 1; k < count; k++) {
      const o = order[k];
      if (worth[o] <= worth[hull[top]]) continue;
      // A place on the line between two others stays: finer steps fit better.
      while (top > 0 && slope(hull[top - 1], hull[top]) < slope(hull[top - 1], o)) top--;
      hull[++top] = o;
    }
    hulls.base[i] = hull[0];
    for (let k = 0; k < top; k++) {
      hulls.field.push(i);
      hulls.from.push(hull[k]);
      hulls.to.push(hull[k + 1]);
      hulls.slope.push(slope(hull[k], hull[k + 1]));
    }
  }
  return hulls;
}

/** Fills `order` with a field's options, lightest first, the worthier first where equal. @returns their number */
function sortByWeight(
  order: Int32Array,
  first: number,
  end: number,
  weight: Float64Array,
  worth: Float64Array,
): number {
  for (let o = first; o < end; o++) {
    let k = o - first;
    for (; k > 0; k--) {
      const before = order[k - 1];
      if (weight[before] < weight[o] || (weight[before] === weight[o] && worth[before] >= worth[o])) break;
      order[k] = before;
    }
    order[k] = o;
  }
  return end - first;
}

/** Steps with the most benefit per unit of weight first; then by field, then along the hull. */
const bestFirst = ({ slope }: Hulls): Int32Array =>
  Int32Array.from(slope, (_, k) => k).sort((a, b) => slope[b] - slope[a] || a - b);

/** The relaxation's value, and the prices at which it is reached. */
interface Dual {
  readonly bound: number;
  readonly perMoney: number;
  readonly perSample: number;
}

function solveRelaxation(flat: Flat, cap: Amount): Dual {
  if (cap.samples === Infinity) {
    const { value, slope } = relax(flat, flat.cost, flat.benefit, cap.money);
    return { bound: value, perMoney: slope, perSample: 0 };
  }
  if (cap.money === Infinity) {
    const { value, slope } = relax(flat, flat.samples, flat.benefit, cap.samples);
    return { bound: value, perMoney: 0, perSample: slope };
  }
  return cutSamplePrice(flat, cap);
}

/** The relaxation under one limit: hull steps in order, the last one in part. */
function relax(flat: Flat, weight: Float64Array, worth: Float64Array, capacity: number) {
  const hulls = hullSteps(flat, weight, worth);
  let left = capacity - sum(weight, hulls.base);
  let value = sum(worth, hulls.base);
  let samples = sum(flat.samples, hulls.base);
  for (const k of bestFirst(hulls)) {
    const [a, b] = [hulls.from[k], hulls.to[k]];
    const more = weight[b] - weight[a];
    const share = Math.min(1, Math.max(0, left) / more);
    if (share === 0 || (share < 1 && left <= slack(capacity)))
      return { value, slope: hulls.slope[k], samples };
    value += share * (worth[b] - worth[a]);
    samples += share * (flat.samples[b] - flat.samples[a]);
    left -= share * more;
    if (share < 1) return { value, slope: hulls.slope[k], samples };
  }
  return { value, slope: 0, samples };
}

/**
 * Both limits: for a price of a sample, money is shared out exactly; the value found is convex and piecewise linear in
 * the price, its slope the samples left over. The least is where the last two tangents of opposite slope meet (Kelley
 * 1960, from memory). Any price gives a valid bound, so stopping early only widens the gap.
 */
function cutSamplePrice(flat: Flat, cap: Amount): Dual {
  const worth = new Float64Array(flat.benefit.length);
  const at = (price: number) => {
    for (let o = 0; o < worth.length; o++) worth[o] = flat.benefit[o] - price * flat.samples[o];
    const { value, slope, samples } = relax(flat, flat.cost, worth, cap.money);
    return {
      price,
      bound: value + price * cap.samples,
      rise: cap.samples - samples,
      dual: { bound: value + price * cap.samples, perMoney: slope, perSample: price },
    };
  };
  let low = at(0);
  if (low.rise >= -slack(cap.samples)) return low.dual;
  let price = relax(flat, flat.samples, flat.benefit, cap.samples).slope || 1;
  let high = at(price);
  for (let k = 0; k < 200 && high.rise < 0; k++) {
    low = high;
    price *= 2;
    high = at(price);
  }
  let best = low.bound < high.bound ? low : high;
  for (let k = 0; k < CUTS; k++) {
    const meet =
      (low.bound - high.bound + high.rise * high.price - low.rise * low.price) / (high.rise - low.rise);
    if (!(meet > low.price && meet < high.price)) break;
    const floor = low.bound + low.rise * (meet - low.price);
    const middle = at(meet);
    if (middle.bound <= best.bound) best = middle;
    if (middle.bound - floor <= 1e-10 * (1 + Math.abs(floor))) break;
    if (middle.rise < 0) low = middle;
    else high = middle;
  }
  return best.dual;
}

/** One weight for money and samples, by their prices at the margin; money alone where neither has a price. */
function weigh({ cost, samples }: Flat, { perMoney, perSample }: Dual): Float64Array {
  if (perSample === 0) return cost;
  if (perMoney === 0) return samples;
  return cost.map((c, o) => perMoney * c + perSample * samples[o]);
}

/** When the lightest options by weight break a limit, the cheapest are the start, without further steps. */
function restartFromLeast(flat: Flat, chosen: Int32Array, left: Amount, cap: Amount): void {
  chosen.set(leastChosen(flat));
  left.money = cap.money - sum(flat.cost, chosen);
  left.samples = cap.samples - sum(flat.samples, chosen);
}

/** Buys steps in order, passing over those that don't fit and those that come after them in the same field. */
function buyInOrder(flat: Flat, hulls: Hulls, chosen: Int32Array, left: Amount, cap: Amount): void {
  for (const k of bestFirst(hulls))
    if (chosen[hulls.field[k]] === hulls.from[k])
      change(flat, chosen, hulls.field[k], hulls.to[k], left, cap);
}

/** Gives a field another option if it fits. */
function change(flat: Flat, chosen: Int32Array, i: number, to: number, left: Amount, cap: Amount): boolean {
  const money = flat.cost[to] - flat.cost[chosen[i]];
  const samples = flat.samples[to] - flat.samples[chosen[i]];
  if (!fits(left, money, samples, cap)) return false;
  chosen[i] = to;
  left.money -= money;
  left.samples -= samples;
  return true;
}

/** Makes the single change that adds most and fits, again and again. */
function fill(flat: Flat, chosen: Int32Array, left: Amount, cap: Amount): void {
  for (;;) {
    let [most, field, to] = [0, -1, -1];
    for (let i = 0; i < chosen.length; i++)
      for (let o = flat.start[i]; o < flat.start[i + 1]; o++) {
        const more = flat.benefit[o] - flat.benefit[chosen[i]];
        const money = flat.cost[o] - flat.cost[chosen[i]];
        if (more > most && fits(left, money, flat.samples[o] - flat.samples[chosen[i]], cap))
          [most, field, to] = [more, i, o];
      }
    if (field < 0 || !change(flat, chosen, field, to, left, cap)) return;
  }
}

/**
 * At the dual's prices each option falls short of its field's best by some amount, and any choice is worth the bound
 * less the shortfalls it takes and less the priced budget it leaves. So what could still beat `chosen` uses only options
 * that fall short by less than the gap: these are searched depth first, small shortfalls first.
 * @returns whether the search ended before its nodes did; `chosen` is then as good as any
 */
function search(flat: Flat, dual: Dual, chosen: Int32Array, cap: Amount): boolean {
  const { cost, samples, benefit, start } = flat;
  const n = chosen.length;
  let mostFound = sum(benefit, chosen);
  const near = 1e-9 * (1 + Math.abs(dual.bound));
  const open: Int32Array[] = [];
  const short = new Float64Array(cost.length);
  for (let i = 0; i < n; i++) {
    let top = -Infinity;
    const priced = (o: number) => benefit[o] - dual.perMoney * cost[o] - dual.perSample * samples[o];
    for (let o = start[i]; o < start[i + 1]; o++) top = Math.max(top, priced(o));
    const kept: number[] = [];
    for (let o = start[i]; o < start[i + 1]; o++) {
      short[o] = top - priced(o);
      if (short[o] < dual.bound - mostFound - near || o === chosen[i]) kept.push(o);
    }
    open.push(Int32Array.from(kept.sort((a, b) => short[a] - short[b] || a - b)));
  }
  // Fields with several options left come first; of the rest there is nothing to choose.
  const order = Int32Array.from(open, (_, i) => i).sort((a, b) => open[b].length - open[a].length || a - b);
  const leastMoney = new Float64Array(n + 1);
  const leastSamples = new Float64Array(n + 1);
  const minimum = (of: Float64Array, among: Int32Array) =>
    among.reduce((m, o) => Math.min(m, of[o]), Infinity);
  for (let d = n - 1; d >= 0; d--) {
    leastMoney[d] = leastMoney[d + 1] + minimum(cost, open[order[d]]);
    leastSamples[d] = leastSamples[d + 1] + minimum(samples, open[order[d]]);
  }
  // Fields with one option left are passed in one go.
  let deepest = 0;
  while (deepest < n && open[order[deepest]].length > 1) deepest++;
  let restBenefit = 0;
  for (let d = deepest; d < n; d++) restBenefit += benefit[open[order[d]][0]];
  const restShort = order.slice(deepest).reduce((s, i) => s + short[open[i][0]], 0);
  const trial = Int32Array.from(chosen);
  for (let d = deepest; d < n; d++) trial[order[d]] = open[order[d]][0];
  let nodes = 0;
  const visit = (d: number, money: number, taken: number, worth: number, shortfall: number): boolean => {
    if (++nodes > SEARCH_NODES) return false;
    if (money + leastMoney[d] > cap.money + slack(cap.money)) return true;
    if (taken + leastSamples[d] > cap.samples + slack(cap.samples)) return true;
    if (d === deepest) {
      if (worth + restBenefit > mostFound + near) {
        mostFound = worth + restBenefit;
        chosen.set(trial);
      }
      return true;
    }
    for (const o of open[order[d]]) {
      // Options come with rising shortfalls, so the rest of them is ruled out too.
      if (dual.bound - shortfall - short[o] - restShort <= mostFound + near) break;
      trial[order[d]] = o;
      if (!visit(d + 1, money + cost[o], taken + samples[o], worth + benefit[o], shortfall + short[o]))
        return false;
    }
    return true;
  };
  return visit(0, 0, 0, 0, 0);
}

/** Steps that lead on from the options chosen, over the hull of what is heavier and worth more. */
function nextSteps(
  fields: readonly FieldChoices[],
  flat: Flat,
  weight: Float64Array,
  chosen: Int32Array,
  count: number,
): NextStep[] {
  const start = new Int32Array(chosen.length + 1);
  const rest: number[] = [];
  for (let i = 0; i < chosen.length; i++) {
    rest.push(chosen[i]);
    for (let o = flat.start[i]; o < flat.start[i + 1]; o++)
      if (weight[o] > weight[chosen[i]] && flat.benefit[o] > flat.benefit[chosen[i]]) rest.push(o);
    start[i + 1] = rest.length;
  }
  const pick = (of: Float64Array) => Float64Array.from(rest, (o) => of[o]);
  const hulls = hullSteps({ ...flat, start }, pick(weight), pick(flat.benefit));
  return Array.from(bestFirst(hulls).subarray(0, count), (k) => {
    const [a, b] = [rest[hulls.from[k]], rest[hulls.to[k]]];
    return {
      field: fields[hulls.field[k]].id,
      from: flat.options[a].id,
      to: flat.options[b].id,
      cost: flat.cost[b] - flat.cost[a],
      samples: flat.samples[b] - flat.samples[a],
      benefit: flat.benefit[b] - flat.benefit[a],
    };
  });
}
