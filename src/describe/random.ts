/** A source of uniform numbers in (0, 1): every function that needs chance is handed one. */
export type Random = () => number;

/** Seeded 32-bit generator (mulberry32, T. Ettinger, public domain; from memory). */
export function seededRandom(seed: number): Random {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = Math.imul(a ^ (a >>> 15), a | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4294967296;
  };
}

/** One standard normal number (Box & Muller 1958). */
export function randomNormal(random: Random): number {
  return Math.sqrt(-2 * Math.log(random())) * Math.cos(2 * Math.PI * random());
}
