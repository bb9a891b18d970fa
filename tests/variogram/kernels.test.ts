import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import type { Kernels } from '../../src/variogram/kernels.ts';
import { plainKernels } from '../../src/variogram/plainKernels.ts';
import { vectorKernels } from '../../src/variogram/vectorKernels.ts';
import { expectWithin } from '../reference/near.ts';

const both: readonly (readonly [string, Kernels | undefined])[] = [
  ['WebAssembly', vectorKernels()],
  ['plain loops', plainKernels()],
];
const sizes = [1, 2, 3, 4, 5, 7, 8, 13, 32];

/** Numbers in (−1, 1), rounded so that they are the same whatever the engine. */
function numbers(count: number, seed: number): Float64Array {
  const random = seededRandom(seed);
  return Float64Array.from({ length: count }, () => 2 * random() - 1);
}

describe.each(both)('kernels in %s', (_, found) => {
  it('are there', () => expect(found).toBeDefined());
  const kernels = found!;

  it.each(sizes)('take a row and its squares, %d numbers', (m) => {
    const row = m + 3;
    const given = numbers(4 * row, m);
    const held = kernels.reserve(4 * row + 1);
    held.set(given);
    kernels.takeRow(0, m, m, row, 2 * row, 3 * row, 4 * row);
    let squares = 0;
    for (let k = 0; k < m; k++) {
      const want = given[k] - given[row + m] * given[2 * row + k] - given[2 * row + m] * given[row + k];
      squares += want * want;
      expectWithin(held[3 * row + k], want, 1e-14);
    }
    expectWithin(held[4 * row], squares, 1e-13);
    // Nothing else is written.
    expect(held.slice(0, 3 * row)).toEqual(given.slice(0, 3 * row));
    expect(held.slice(3 * row + m, 4 * row)).toEqual(given.slice(3 * row + m));
  });

  it.each(sizes)('update a symmetric matrix and multiply, %d rows', (m) => {
    const row = (m + 3) & ~3;
    const at = row * row;
    const held = kernels.reserve(at + 4 * row);
    held.fill(0, 0, at + 4 * row);
    const a = (i: number, j: number) => Math.sin(1 + Math.max(i, j) * 31 + Math.min(i, j));
    const [w, p, v] = [1, 2, 3].map((s) => numbers(m, s));
    for (let i = 0; i < m; i++) for (let j = 0; j <= i; j++) held[i * row + j] = a(i, j);
    [w, p, v].forEach((x, k) => held.set(x, at + k * row));
    kernels.updateAndMultiply(0, row, m, at, at + row, at + 2 * row, at + 3 * row);
    for (let i = 0; i < m; i++) {
      let product = 0;
      for (let j = 0; j < m; j++) {
        const want = a(i, j) - w[i] * p[j] - p[i] * w[j];
        product += want * v[j];
        if (j <= i) expectWithin(held[i * row + j], want, 1e-14);
      }
      expectWithin(held[at + 3 * row + i], product, 1e-13);
    }
  });

  it.each(sizes)('reflect vectors, %d numbers', (m) => {
    const row = m + (m & 1);
    const count = 3;
    const held = kernels.reserve((2 + count) * row + 1);
    held.fill(0, 0, (2 + count) * row);
    const [v, q, ...b] = Array.from({ length: 2 + count }, (_x, s) => numbers(m, 10 + s));
    [v, q, ...b].forEach((x, k) => held.set(x, k * row));
    const scale = 0.37;
    held[(2 + count) * row] = scale;
    kernels.reflect(0, row, m, (2 + count) * row, 2 * row, count, row);
    const dot = (x: Float64Array) => x.reduce((s, value, k) => s + value * v[k], 0);
    for (let k = 0; k < m; k++) {
      expect(held[k]).toBe(v[k]);
      expectWithin(held[row + k], (q[k] - 0.5 * dot(q) * scale * v[k]) * scale, 1e-14);
      b.forEach((x, c) => expectWithin(held[(2 + c) * row + k], x[k] - dot(x) * scale * v[k], 1e-14));
    }
  });

  it.each(sizes)('give the squares of four vectors, all rows met or some, %d rows', (n) => {
    const rows = n + (n & 1);
    const from = rows * rows;
    const out = from + 4 * rows;
    const list = out + 4;
    const held = kernels.reserve(list + rows + 1);
    const l = numbers(rows * rows, 5);
    const c = numbers(4 * rows, 6);
    // Every third row and the last, with other rows of the vectors 0.
    const met = Array.from({ length: n }, (_x, i) => i).filter((i) => i % 3 === 1 || i === n - 1);
    const want = (isMet: (i: number) => boolean, vector: number) => {
      let sum = 0;
      for (let i = 0; i < rows; i++) {
        let product = 0;
        for (let k = 0; k <= i; k++) if (isMet(k)) product += l[i * rows + k] * c[4 * k + vector];
        sum += product * product;
      }
      return sum;
    };
    // What lies above the diagonal is 0.
    for (let i = 0; i < rows; i++) l.fill(0, i * rows + i + 1, (i + 1) * rows);
    held.set(l);
    held.set(c, from);
    kernels.squaresOfFour(0, rows, rows, from, out);
    for (let s = 0; s < 4; s++)
      expectWithin(
        held[out + s],
        want(() => true, s),
        1e-12,
      );
    met.forEach((i, k) => held.set(c.subarray(4 * i, 4 * i + 4), from + 4 * k));
    new Int32Array(held.buffer, 8 * list, met.length + 1).set([...met, rows]);
    kernels.squaresOfSome(0, rows, rows, from, out, list);
    for (let s = 0; s < 4; s++)
      expectWithin(
        held[out + s],
        want((i) => met.includes(i), s),
        1e-12,
      );
  });

  it('keep a larger array when asked for more', () => {
    const first = kernels.reserve(10);
    expect(first.length).toBeGreaterThanOrEqual(10);
    const more = first.length + 70_000;
    const second = kernels.reserve(more);
    expect(second.length).toBeGreaterThanOrEqual(more);
    expect(kernels.reserve(more)).toBe(second);
  });
});

describe('WebAssembly kernels', () => {
  it('are done without where code may not be compiled', () => {
    const { Module } = WebAssembly;
    try {
      Object.defineProperty(WebAssembly, 'Module', {
        value: () => {
          throw new WebAssembly.CompileError('refused by the page');
        },
        configurable: true,
        writable: true,
      });
      expect(vectorKernels()).toBeUndefined();
    } finally {
      Object.defineProperty(WebAssembly, 'Module', { value: Module, configurable: true, writable: true });
    }
  });
});
