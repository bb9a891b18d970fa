import {
  add,
  addInt,
  addPairs,
  asLongAs,
  below,
  declareLocals,
  during,
  evenOf,
  F64,
  get,
  half,
  halved,
  I32,
  int,
  less,
  lessPairs,
  load,
  loadInt,
  loadPair,
  loadTwice,
  moduleOf,
  set,
  store,
  storePair,
  sumOfPair,
  times,
  timesInt,
  timesPairs,
  twice,
  V128,
  zeroPair,
  type Code,
  type Local,
  type VectorFunction,
} from './vectorCode.ts';
import type { Kernels } from './kernels.ts';

const FOUR = [0, 1, 2, 3];
/** Bytes in a double. */
const EACH = 8;
/** From numbers to bytes. */
const toBytes = (...counts: readonly Local[]): Code =>
  counts.flatMap((count) => set(count, timesInt(get(count), int(EACH))));
const all = (code: (r: number) => Code): Code => FOUR.flatMap(code);

function updateAndMultiply(): VectorFunction {
  const f = declareLocals(7);
  const [a, row, m, w, p, v, q] = [0, 1, 2, 3, 4, 5, 6].map(f.parameter);
  // `i` and `k` are the bytes from the start of a row to its i-th and k-th number.
  const [i, k, own] = f.several(I32, 3);
  const rows = f.several(I32, 4);
  const [wk, pk, vk, qk, x] = f.several(V128, 5);
  const wi = f.several(V128, 4);
  const pi = f.several(V128, 4);
  const vi = f.several(V128, 4);
  const sums = f.several(V128, 4);
  const at = (vector: Local, offset: Local) => addInt(get(vector), get(offset));
  const updated = (r: number, address: Code, offset = 0) =>
    lessPairs(
      loadPair(address, offset),
      addPairs(timesPairs(get(wi[r]), get(pk)), timesPairs(get(pi[r]), get(wk))),
    );
  // The 4 × 4 block on the diagonal, of which the lower triangle counts.
  const onDiagonal = (r: number, c: number) =>
    times(load(at(rows[Math.max(r, c)], i), 8 * Math.min(r, c)), load(get(own), 8 * c));
  return {
    name: 'updateAndMultiply',
    parameters: 7,
    locals: f.locals,
    body: [
      ...toBytes(a, row, m, w, p, v, q),
      ...set(rows[3], addInt(get(a), timesInt(get(row), int(-1)))),
      ...during(i, get(m), 32, [
        ...all((r) => set(rows[r], addInt(get(rows[(r + 3) % 4]), get(row)))),
        ...all((r) => set(wi[r], loadTwice(at(w, i), 8 * r))),
        ...all((r) => set(pi[r], loadTwice(at(p, i), 8 * r))),
        ...all((r) => set(vi[r], loadTwice(at(v, i), 8 * r))),
        ...all((r) => set(sums[r], zeroPair)),
        ...set(k, int(0)),
        ...during(k, get(i), 16, [
          ...set(wk, loadPair(at(w, k))),
          ...set(pk, loadPair(at(p, k))),
          ...set(vk, loadPair(at(v, k))),
          ...set(qk, loadPair(at(q, k))),
          ...all((r) => [
            ...set(x, updated(r, at(rows[r], k))),
            ...storePair(at(rows[r], k), get(x)),
            ...set(sums[r], addPairs(get(sums[r]), timesPairs(get(x), get(vk)))),
            ...set(qk, addPairs(get(qk), timesPairs(get(x), get(vi[r])))),
          ]),
          ...storePair(at(q, k), get(qk)),
        ]),
        ...[0, 16].flatMap((offset) => [
          ...set(wk, loadPair(at(w, i), offset)),
          ...set(pk, loadPair(at(p, i), offset)),
          ...all((r) => storePair(at(rows[r], i), updated(r, at(rows[r], i), offset), offset)),
        ]),
        ...set(own, at(v, i)),
        ...all((r) =>
          store(
            at(q, i),
            FOUR.reduce<Code>((sum, c) => add(sum, onDiagonal(r, c)), sumOfPair(sums[r])),
            8 * r,
          ),
        ),
      ]),
    ],
  };
}

function takeRow(): VectorFunction {
  const f = declareLocals(7);
  const [a, i, m, w, p, v, square] = [0, 1, 2, 3, 4, 5, 6].map(f.parameter);
  const k = f.local(I32);
  const [wi, pi, x, sum] = f.several(V128, 4);
  const [one, squares] = f.several(F64, 2);
  const at = (vector: Local) => addInt(get(vector), get(k));
  const own = (vector: Local) => addInt(get(vector), get(i));
  return {
    name: 'takeRow',
    parameters: 7,
    locals: f.locals,
    body: [
      ...toBytes(a, i, m, w, p, v, square),
      ...set(wi, loadTwice(own(w))),
      ...set(pi, loadTwice(own(p))),
      ...during(k, evenOf(get(m)), 16, [
        ...set(
          x,
          lessPairs(
            loadPair(at(a)),
            addPairs(timesPairs(get(wi), loadPair(at(p))), timesPairs(get(pi), loadPair(at(w)))),
          ),
        ),
        ...storePair(at(v), get(x)),
        ...set(sum, addPairs(get(sum), timesPairs(get(x), get(x)))),
      ]),
      ...set(squares, sumOfPair(sum)),
      // The last of an odd number.
      ...during(k, get(m), 8, [
        ...set(
          one,
          less(load(at(a)), add(times(load(own(w)), load(at(p))), times(load(own(p)), load(at(w))))),
        ),
        ...store(at(v), get(one)),
        ...set(squares, add(get(squares), times(get(one), get(one)))),
      ]),
      ...store(get(square), get(squares)),
    ],
  };
}

function reflect(): VectorFunction {
  const f = declareLocals(7);
  const [v, q, m, scale, b, count, row] = [0, 1, 2, 3, 4, 5, 6].map(f.parameter);
  const [k, c] = f.several(I32, 2);
  const [sum, factor] = f.several(V128, 2);
  const at = (vector: Local) => addInt(get(vector), get(k));
  const product = (other: Local) => [
    ...set(sum, zeroPair),
    ...set(k, int(0)),
    ...during(k, get(m), 16, set(sum, addPairs(get(sum), timesPairs(loadPair(at(v)), loadPair(at(other)))))),
  ];
  const taken = (other: Local) => lessPairs(loadPair(at(other)), timesPairs(get(factor), loadPair(at(v))));
  return {
    name: 'reflect',
    parameters: 7,
    locals: f.locals,
    body: [
      ...toBytes(v, q, m, scale, b, row),
      ...product(q),
      ...set(factor, twice(times(times(half, sumOfPair(sum)), load(get(scale))))),
      ...set(k, int(0)),
      ...during(k, get(m), 16, storePair(at(q), timesPairs(taken(q), loadTwice(get(scale))))),
      ...during(c, get(count), 1, [
        ...product(b),
        ...set(factor, twice(times(sumOfPair(sum), load(get(scale))))),
        ...set(k, int(0)),
        ...during(k, get(m), 16, storePair(at(b), taken(b))),
        ...set(b, addInt(get(b), get(row))),
      ]),
    ],
  };
}

/** @param some whether only the rows in a list are met */
function squaresOfVectors(some: boolean): VectorFunction {
  const parameters = some ? 6 : 5;
  const f = declareLocals(parameters);
  const [l, row, rows, c, out, met] = [0, 1, 2, 3, 4, 5].map(f.parameter);
  const [i, k, from, u, v, next, at] = f.several(I32, 7);
  const [x, c01, c23] = f.several(V128, 3);
  // Of each of the two rows, and of their squares: vectors 0 and 1, 2 and 3.
  const [u01, u23, v01, v23, sum01, sum23] = f.several(V128, 6);
  const plus = (sum: Local, a: Local, b: Local) => set(sum, addPairs(get(sum), timesPairs(get(a), get(b))));
  const column = some ? at : k;
  const upTo = addInt(get(i), int(2 * EACH));
  const met4 = (place: Local) => timesInt(loadInt(addInt(get(met), get(place))), int(EACH));
  const taken = [
    ...set(c01, loadPair(get(from))),
    ...set(c23, loadPair(get(from), 16)),
    ...set(from, addInt(get(from), int(32))),
    ...set(x, loadTwice(addInt(get(u), get(column)))),
    ...plus(u01, x, c01),
    ...plus(u23, x, c23),
    ...set(x, loadTwice(addInt(get(v), get(column)))),
    ...plus(v01, x, c01),
    ...plus(v23, x, c23),
  ];
  // Rows before the first met come to nothing; of a row only the numbers up to it count.
  const before = some
    ? [
        ...toBytes(met),
        ...set(i, evenOf(met4(k))),
        ...set(u, addInt(get(l), timesInt(get(row), halved(get(i), 3)))),
      ]
    : set(u, get(l));
  const ofRow = some
    ? [
        ...asLongAs(below(met4(next), upTo), set(next, addInt(get(next), int(4)))),
        ...during(k, get(next), 4, [...set(at, met4(k)), ...taken]),
      ]
    : during(k, upTo, EACH, taken);
  return {
    name: some ? 'squaresOfSome' : 'squaresOfFour',
    parameters,
    locals: f.locals,
    body: [
      ...toBytes(l, row, rows, c, out),
      ...before,
      ...during(i, get(rows), 2 * EACH, [
        ...set(v, addInt(get(u), get(row))),
        ...[u01, u23, v01, v23].flatMap((sum) => set(sum, zeroPair)),
        ...set(k, int(0)),
        ...set(from, get(c)),
        ...ofRow,
        ...plus(sum01, u01, u01),
        ...plus(sum23, u23, u23),
        ...plus(sum01, v01, v01),
        ...plus(sum23, v23, v23),
        ...set(u, addInt(get(v), get(row))),
      ]),
      ...storePair(get(out), get(sum01)),
      ...storePair(get(out), get(sum23), 16),
    ],
  };
}

const PAGE_BYTES = 65_536;

/** {@link Kernels} in WebAssembly; undefined where a page may not compile code, or an engine has no vectors. */
export function vectorKernels(): Kernels | undefined {
  try {
    const bytes = moduleOf([
      updateAndMultiply(),
      takeRow(),
      reflect(),
      squaresOfVectors(false),
      squaresOfVectors(true),
    ]);
    const { exports } = new WebAssembly.Instance(new WebAssembly.Module(bytes));
    const memory = exports.memory as WebAssembly.Memory;
    let view = new Float64Array(memory.buffer);
    return {
      reserve: (numbers) => {
        if (view.length < numbers) {
          memory.grow(Math.ceil((EACH * numbers) / PAGE_BYTES) - memory.buffer.byteLength / PAGE_BYTES);
          view = new Float64Array(memory.buffer);
        }
        return view;
      },
      updateAndMultiply: exports.updateAndMultiply as Kernels['updateAndMultiply'],
      takeRow: exports.takeRow as Kernels['takeRow'],
      reflect: exports.reflect as Kernels['reflect'],
      squaresOfFour: exports.squaresOfFour as Kernels['squaresOfFour'],
      squaresOfSome: exports.squaresOfSome as Kernels['squaresOfSome'],
    };
  } catch {
    return undefined;
  }
}
