/** Spreadsheets turn `MAR-001-20` into a date. */
const MONTHS = new Set('JAN FEB MAR APR MAY JUN JUL AUG SEP OCT NOV DEC'.split(' '));
/** Without I and O, which are read as 1 and 0. */
const LETTERS = 'ABCDEFGHJKLMNPQRSTUVWXYZ';

/**
 * A code of three letters for each field, no two alike, that its name still shows through: the initials of its words,
 * else its first letters and consonants, else the next code that is free. Names in other scripts get the next free code.
 * The same names in the same order give the same codes.
 */
export function fieldCodes(names: readonly string[]): readonly string[] {
  const taken = new Set<string>();
  return names.map((name) => {
    const code = candidates(name).find((c) => !taken.has(c) && !MONTHS.has(c)) ?? nextFree(taken);
    taken.add(code);
    return code;
  });
}

function candidates(name: string): string[] {
  const words = name
    .normalize('NFKD')
    .toUpperCase()
    .replace(/\p{M}/gu, '')
    .replace(/[IO]/g, '')
    .split(/[^A-Z]+/)
    .filter(Boolean);
  const all = words.join('');
  const initials = words.map((w) => w[0]).join('');
  const consonants = all.slice(0, 1) + all.slice(1).replace(/[AEUY]/g, '');
  const found = [
    initials.slice(0, 3),
    initials.slice(0, 2) + all.slice(-1),
    consonants.slice(0, 3),
    all.slice(0, 3),
  ];
  for (const letter of all.slice(2)) found.push(all.slice(0, 2) + letter);
  for (const letter of LETTERS) found.push(all.slice(0, 2) + letter);
  return found.filter((c) => c.length === 3);
}

/** From XAA on, so that a code without a meaning looks like one. */
function nextFree(taken: ReadonlySet<string>): string {
  const n = LETTERS.length;
  const first = LETTERS.indexOf('X') * n * n;
  for (let i = 0; i < n ** 3; i++) {
    const at = (first + i) % n ** 3;
    const code = LETTERS[Math.floor(at / (n * n))] + LETTERS[Math.floor(at / n) % n] + LETTERS[at % n];
    if (!taken.has(code) && !MONTHS.has(code)) return code;
  }
  throw new RangeError(`There are codes for some ${n ** 3} fields, not for more.`);
}
