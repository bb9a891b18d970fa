/** Four-dimensional additive recurrence (Roberts 2018, "R_d"; from memory), shifted by the seed. */
export function quasiRandom4(i: number, seed: number): readonly [number, number, number, number] {
  const g = 1.1673039782614187;
  const at = (k: number) => {
    const shiftBy = ((Math.imul(seed ^ (k * 0x9e3779b1), 0x85ebca6b) >>> 0) + 0.5) / 4294967296;
    return Math.min(1 - 1e-9, Math.max(1e-9, (shiftBy + (i + 1) / g ** k) % 1));
  };
  return [at(1), at(2), at(3), at(4)];
}
