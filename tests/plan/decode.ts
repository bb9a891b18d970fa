import { polygonContains } from 'd3';

/** Bars and spaces of each Code 128 symbol, 0 to 105, in modules (ISO/IEC 15417, table 1; from memory). */
const CODE_128 = (
  '212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231 113222 ' +
  '123122 123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211 212123 212321 ' +
  '232121 111323 131123 131321 112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121 ' +
  '313121 211331 231131 213113 213311 213131 311123 311321 331121 312113 312311 332111 314111 221411 431111 111224 ' +
  '111422 121124 121421 141122 141221 112214 112412 122114 122411 142112 142211 241211 221114 413111 241112 134111 ' +
  '111242 121142 121241 114212 124112 124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113 ' +
  '114311 411113 411311 113141 114131 311141 411131 211412 211214 211232'
).split(' ');
const STOP = '2331112';
const [START_B, START_C, TO_C, TO_B] = [104, 105, 99, 100];

/** Size of an SVG's view box. */
export const viewBox = (svg: string): readonly number[] =>
  (/viewBox="([^"]+)"/.exec(svg)?.[1] ?? '').split(' ').map(Number);

/** Dark bars of an SVG drawn with strokes, from left to right. */
export function bars(svg: string): readonly { readonly from: number; readonly width: number }[] {
  return [...svg.matchAll(/stroke-width="(\d+)" d="([^"]+)"/g)]
    .flatMap(([, width, path]) =>
      [...path.matchAll(/M([\d.]+) /g)].map(([, x]) => ({
        from: Number(x) - Number(width) / 2,
        width: Number(width),
      })),
    )
    .sort((a, b) => a.from - b.from);
}

/** Text of a Code 128 bar code, code sets B and C; throws when start, stop or the sum modulo 103 is wrong. */
export function decodeCode128(svg: string): string {
  const dark = bars(svg);
  const widths = dark.flatMap(({ from, width }, i) =>
    i + 1 < dark.length ? [width, dark[i + 1].from - from - width] : [width],
  );
  const runs = widths.join('');
  if (!runs.endsWith(STOP)) throw new Error('no stop');
  const symbols = (runs.slice(0, -STOP.length).match(/.{6}/g) ?? []).map((s) => CODE_128.indexOf(s));
  const check = symbols.at(-1);
  const body = symbols.slice(0, -1);
  const sum = body.reduce((total, symbol, i) => total + symbol * Math.max(i, 1), 0);
  if (sum % 103 !== check) throw new Error('wrong sum');
  let set = body[0];
  if (set !== START_B && set !== START_C) throw new Error('no start');
  let text = '';
  for (const symbol of body.slice(1)) {
    if (set === START_B && symbol === TO_C) set = START_C;
    else if (set === START_C && symbol === TO_B) set = START_B;
    else text += set === START_C ? String(symbol).padStart(2, '0') : String.fromCharCode(symbol + 32);
  }
  return text;
}

const ALPHANUMERIC = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:';
const SIDE = 21;

/** The nine-unit margins and finder corners apart, which of a version 1 symbol's modules carry data. */
const carriesData = (row: number, column: number): boolean =>
  !(row < 9 && (column < 9 || column > 12)) && !(row > 12 && column < 9) && row !== 6 && column !== 6;

const MASKS: readonly ((i: number, j: number) => boolean)[] = [
  (i, j) => (i + j) % 2 === 0,
  (i) => i % 2 === 0,
  (_, j) => j % 3 === 0,
  (i, j) => (i + j) % 3 === 0,
  (i, j) => (Math.floor(i / 2) + Math.floor(j / 3)) % 2 === 0,
  (i, j) => ((i * j) % 2) + ((i * j) % 3) === 0,
  (i, j) => (((i * j) % 2) + ((i * j) % 3)) % 2 === 0,
  (i, j) => (((i + j) % 2) + ((i * j) % 3)) % 2 === 0,
];

/** Codewords of data and of correction in version 1, by level (ISO/IEC 18004, table 9). */
const LEVELS = [
  { level: 'M', data: 16 },
  { level: 'L', data: 19 },
  { level: 'H', data: 9 },
  { level: 'Q', data: 13 },
];

/**
 * Text and level of a version 1 QR code in alphanumeric mode, drawn two units a module with a margin of four modules
 * (ISO/IEC 18004). Throws when the Reed-Solomon syndromes aren't all zero.
 */
export function decodeQr(svg: string): { readonly text: string; readonly level: string } {
  const rings = [...(/ d="([^"]+)" fill-rule="evenodd"/.exec(svg)?.[1] ?? '').matchAll(/M([^Z]+)Z/g)].map(
    ([, path]) => path.split('L').map((p) => p.split(' ').map(Number) as [number, number]),
  );
  const dark = Array.from({ length: SIDE }, (_, row) =>
    Array.from({ length: SIDE }, (_unused, column) => {
      const at: [number, number] = [8 + 2 * column + 1, 8 + 2 * row + 1];
      return rings.filter((ring) => polygonContains(ring, at)).length % 2 === 1;
    }),
  );
  const places = [
    ...[0, 1, 2, 3, 4, 5, 7, 8].map((column) => [8, column]),
    ...[7, 5, 4, 3, 2, 1, 0].map((row) => [row, 8]),
  ];
  const format = places.reduce((bits, [row, column]) => 2 * bits + Number(dark[row][column]), 0) ^ 0x5412;
  const { level, data } = LEVELS[format >> 13];
  const mask = MASKS[(format >> 10) & 7];
  const bits: number[] = [];
  let up = true;
  for (let right = SIDE - 1; right > 0; right -= 2) {
    if (right === 6) right--;
    for (let k = 0; k < SIDE; k++) {
      const row = up ? SIDE - 1 - k : k;
      for (const column of [right, right - 1])
        if (carriesData(row, column)) bits.push(Number(dark[row][column] !== mask(row, column)));
    }
    up = !up;
  }
  const codewords = Array.from({ length: bits.length >> 3 }, (_, i) => number(bits, 8 * i, 8));
  if (syndromes(codewords, codewords.length - data).some((s) => s !== 0)) throw new Error('not a codeword');
  if (number(bits, 0, 4) !== 2) throw new Error('not alphanumeric');
  const length = number(bits, 4, 9);
  let text = '';
  for (let at = 13; text.length < length;) {
    const pair = length - text.length > 1;
    const value = number(bits, at, pair ? 11 : 6);
    text += pair ? ALPHANUMERIC[Math.floor(value / 45)] + ALPHANUMERIC[value % 45] : ALPHANUMERIC[value];
    at += pair ? 11 : 6;
  }
  return { text, level };
}

const number = (bits: readonly number[], from: number, count: number): number =>
  bits.slice(from, from + count).reduce((value, bit) => 2 * value + bit, 0);

/** The word as a polynomial over GF(2^8) with x^8 + x^4 + x^3 + x^2 + 1, at the first powers of 2. */
function syndromes(word: readonly number[], count: number): number[] {
  return Array.from({ length: count }, (_, i) => {
    let root = 1;
    for (let k = 0; k < i; k++) root = times(root, 2);
    return word.reduce((sum, c) => times(sum, root) ^ c, 0);
  });
}

function times(a: number, b: number): number {
  let product = 0;
  for (let bit = 7; bit >= 0; bit--) {
    product = product & 0x80 ? (product << 1) ^ 0x11d : product << 1;
    if ((b >> bit) & 1) product ^= a;
  }
  return product;
}
