/**
 * WebAssembly modules put together from expressions, for loops that JavaScript's engines run one number at a time and
 * WebAssembly's 128-bit vectors two at a time. An expression is the bytes that leave its value on the stack.
 * WebAssembly Core Specification 2.0 (W3C 2022), ch. 5, binary format.
 */
export type Code = readonly number[];

/** Value types: an integer or address, a double, two doubles side by side. */
export const [I32, F64, V128] = [0x7f, 0x7c, 0x7b];

/** A parameter or local variable by its number. */
export type Local = number & { readonly local: unique symbol };

/** One function: all its parameters are I32, and it returns nothing. */
export interface VectorFunction {
  readonly name: string;
  readonly parameters: number;
  readonly locals: readonly number[];
  readonly body: Code;
}

/** Gives out the locals of a function, its parameters first. */
export function declareLocals(parameters: number) {
  const locals: number[] = [];
  return {
    locals,
    parameter: (i: number) => i as Local,
    local: (type: number) => (parameters + locals.push(type) - 1) as Local,
    several: (type: number, count: number) =>
      Array.from({ length: count }, () => (parameters + locals.push(type) - 1) as Local),
  };
}

export const get = (l: Local): Code => [0x20, ...unsigned(l)];
export const set = (l: Local, value: Code): Code => [...value, 0x21, ...unsigned(l)];

/** Integers. */
export const int = (v: number): Code => [0x41, ...signed(v)];
export const addInt = (a: Code, b: Code): Code => [...a, ...b, 0x6a];
export const timesInt = (a: Code, b: Code): Code => [...a, ...b, 0x6c];
/** Divided by 2 so many times. */
export const halved = (a: Code, by: number): Code => [...a, ...int(by), 0x76];
/** Bytes of an even number of doubles: those of the last are dropped where it has no fellow. */
export const evenOf = (a: Code): Code => [...a, ...int(-16), 0x71];
export const below = (a: Code, b: Code): Code => [...a, ...b, 0x49];

/** A 32-bit integer at an address. */
export const loadInt = (address: Code): Code => [...address, 0x28, 2, 0];

/** Doubles, at an address and an offset in bytes. */
export const load = (address: Code, offset = 0): Code => [...address, 0x2b, 3, ...unsigned(offset)];
export const store = (address: Code, value: Code, offset = 0): Code => [
  ...address,
  ...value,
  0x39,
  3,
  ...unsigned(offset),
];
export const add = (a: Code, b: Code): Code => [...a, ...b, 0xa0];
export const less = (a: Code, b: Code): Code => [...a, ...b, 0xa1];
export const times = (a: Code, b: Code): Code => [...a, ...b, 0xa2];
/** The number ½. */
export const half: Code = [0x44, 0, 0, 0, 0, 0, 0, 0xe0, 0x3f];

/** Pairs of doubles. */
export const loadPair = (address: Code, offset = 0): Code => [...address, 0xfd, 0, 3, ...unsigned(offset)];
/** One double, twice. */
export const loadTwice = (address: Code, offset = 0): Code => [...address, 0xfd, 10, 3, ...unsigned(offset)];
export const storePair = (address: Code, value: Code, offset = 0): Code => [
  ...address,
  ...value,
  0xfd,
  11,
  3,
  ...unsigned(offset),
];
export const twice = (value: Code): Code => [...value, 0xfd, 20];
export const zeroPair: Code = [0xfd, 12, ...new Array<number>(16).fill(0)];
export const addPairs = (a: Code, b: Code): Code => [...a, ...b, 0xfd, 0xf0, 1];
export const lessPairs = (a: Code, b: Code): Code => [...a, ...b, 0xfd, 0xf1, 1];
export const timesPairs = (a: Code, b: Code): Code => [...a, ...b, 0xfd, 0xf2, 1];
/** The first and the second number of a pair added. */
export const sumOfPair = (pair: Local): Code => add([...get(pair), 0xfd, 33, 0], [...get(pair), 0xfd, 33, 1]);

/** Runs the body as long as the condition holds. */
export const asLongAs = (condition: Code, body: Code): Code => [
  ...[0x02, 0x40],
  ...[...condition, 0x45, 0x0d, 0],
  ...[0x03, 0x40],
  ...body,
  ...[...condition, 0x0d, 0],
  ...[0x0b, 0x0b],
];

/** Runs the body while counter < end; the counter grows by `step` each time. */
export const during = (counter: Local, end: Code, step: number, body: Code): Code =>
  asLongAs(below(get(counter), end), [...body, ...set(counter, addInt(get(counter), int(step)))]);

/** The bytes of a module with one memory, exported as `memory`, and these functions. */
export function moduleOf(functions: readonly VectorFunction[]): Uint8Array<ArrayBuffer> {
  const text = (s: string) => counted([...new TextEncoder().encode(s)]);
  const section = (id: number, entries: readonly Code[]) => [id, ...counted(vector(entries))];
  const types = functions.map((f) => [0x60, ...counted(new Array<number>(f.parameters).fill(I32)), 0]);
  const bodies = functions.map((f) =>
    counted([...vector(f.locals.map((type) => [1, type])), ...f.body, 0x0b]),
  );
  return Uint8Array.from([
    ...[0, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
    ...section(1, types),
    ...section(
      3,
      functions.map((_, i) => unsigned(i)),
    ),
    ...section(5, [[0, 1]]),
    ...section(7, [
      [...text('memory'), 2, 0],
      ...functions.map((f, i) => [...text(f.name), 0, ...unsigned(i)]),
    ]),
    ...section(10, bodies),
  ]);
}

const vector = (entries: readonly Code[]): Code => [...unsigned(entries.length), ...entries.flat()];
const counted = (bytes: Code): Code => [...unsigned(bytes.length), ...bytes];

/** LEB128. */
function unsigned(v: number): Code {
  return v < 0x80 ? [v] : [(v & 0x7f) | 0x80, ...unsigned(v >>> 7)];
}

function signed(v: number): Code {
  return v >= -64 && v < 64 ? [v & 0x7f] : [(v & 0x7f) | 0x80, ...signed(v >> 7)];
}
