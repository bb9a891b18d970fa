/** Something that a decision rests on, and what the decision gains at any level of it. */
export interface Factor {
  readonly id: string;
  /** Level now, and the ends it is looked at between: low < now < high, all above 0. */
  readonly now: number;
  readonly low: number;
  readonly high: number;
  /** Gain of the one choice over the other at a level, continuous; positive where the one pays. */
  readonly gainAt: (level: number) => number;
}

/** A factor's effect on a decision: one bar of a tornado chart. */
export interface FactorEffect {
  readonly id: string;
  readonly now: number;
  readonly low: number;
  readonly high: number;
  readonly gainAtLow: number;
  readonly gainAtHigh: number;
  /** Level nearest to now (in its logarithm) at which the decision turns; absent when it does not between the ends. */
  readonly breakEven?: number;
}

/** Levels looked at on each side of now, and halvings that close in on a change of sign. */
const STEPS = 3;
const HALVINGS = 5;

/**
 * Looks at a factor on a geometric ladder of levels on either side of now, outward, and closes in on the first change of
 * sign by regula falsi in the logarithm (Illinois variant, Dowell & Jarratt 1971; from memory).
 * @param gainNow gain at the level of now, when known
 */
export function effectOf(factor: Factor, gainNow = factor.gainAt(factor.now)): FactorEffect {
  const { id, now, low, high, gainAt } = factor;
  if (!(low > 0 && low < now && now < high))
    throw new RangeError(`${id}: levels must be 0 < low < now < high, got ${low}, ${now}, ${high}`);
  const walk = (end: number) => {
    const levels = Array.from({ length: STEPS }, (_, i) => now * (end / now) ** ((i + 1) / STEPS));
    const gains = levels.map(gainAt);
    const at = gains.findIndex((g) => g > 0 !== gainNow > 0);
    const from = at > 0 ? { x: levels[at - 1], g: gains[at - 1] } : { x: now, g: gainNow };
    return {
      gain: gains[STEPS - 1],
      turn: at < 0 ? undefined : turnBetween(gainAt, from, { x: levels[at], g: gains[at] }),
    };
  };
  const [down, up] = [walk(low), walk(high)];
  const far = (level: number | undefined) =>
    level === undefined ? Infinity : Math.abs(Math.log(level / now));
  const breakEven = far(down.turn) <= far(up.turn) ? down.turn : up.turn;
  return {
    id,
    now,
    low,
    high,
    gainAtLow: down.gain,
    gainAtHigh: up.gain,
    ...(breakEven !== undefined && { breakEven }),
  };
}

interface Looked {
  readonly x: number;
  readonly g: number;
}

function turnBetween(gainAt: (level: number) => number, from: Looked, to: Looked): number {
  let [a, b] = [
    { u: Math.log(from.x), g: from.g },
    { u: Math.log(to.x), g: to.g },
  ];
  for (let k = 0; k < HALVINGS && a.g !== 0 && b.g !== a.g; k++) {
    const u = b.u - (b.g * (b.u - a.u)) / (b.g - a.g);
    const g = gainAt(Math.exp(u));
    // The end that stays is halved, so that it cannot stay for ever.
    a = g > 0 !== b.g > 0 ? b : { u: a.u, g: a.g / 2 };
    b = { u, g };
  }
  return Math.exp(b.u);
}

/** Effects with the widest spread of gains first: the order of a tornado chart. */
export const widestFirst = (effects: readonly FactorEffect[]): readonly FactorEffect[] =>
  [...effects].sort((a, b) => Math.abs(b.gainAtHigh - b.gainAtLow) - Math.abs(a.gainAtHigh - a.gainAtLow));
