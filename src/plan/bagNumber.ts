/**
 * A bag's number: three letters for the field, the sample's number with three or four digits, two check digits:
 * `NFD-012-47`. Letters stand only where letters are due and digits where digits are, so a letter read as a digit shows by
 * itself; the check digits find every other wrong character and every exchange of neighbours (see {@link checkDigits}).
 */
export interface BagNumber {
  readonly fieldCode: string;
  readonly sample: number;
}

/** The largest sample number a bag can carry. */
export const MOST_SAMPLES = 9999;

const PATTERN = /^([A-Z]{3})(\d{3}|[1-9]\d{3})(\d{2})$/;

/**
 * Check digits by ISO/IEC 7064 MOD 97-10, letters taken as 10 to 35 as in ISO 13616 (IBAN) and ISO 17442 (LEI): the
 * whole as a number leaves 1 when divided by 97. Since 97 is prime and above 9·9 and 2·25, a changed digit or letter and
 * an exchange of two neighbouring digits or letters always change the remainder.
 *
 * @param text letters A to Z and digits
 */
export const checkDigits = (text: string): string => String(98 - remainder(`${text}00`)).padStart(2, '0');

function remainder(text: string): number {
  let rest = 0;
  for (const c of text) {
    const value = Number.parseInt(c, 36);
    rest = (rest * (value > 9 ? 100 : 10) + value) % 97;
  }
  return rest;
}

/**
 * Writes a bag's number.
 * @throws RangeError for a code that isn't three letters A to Z or a sample that isn't a whole number from 1 to 9999
 * @example writeBagNumber({ fieldCode: 'NFD', sample: 12 }) // 'NFD-012-' and two check digits
 */
export function writeBagNumber({ fieldCode, sample }: BagNumber): string {
  if (!/^[A-Z]{3}$/.test(fieldCode))
    throw new RangeError(`A field code is three letters from A to Z, not ${fieldCode}.`);
  if (!Number.isInteger(sample) || sample < 1 || sample > MOST_SAMPLES)
    throw new RangeError(`A sample is numbered from 1 to ${MOST_SAMPLES}, not ${sample}.`);
  const digits = String(sample).padStart(3, '0');
  return `${fieldCode}-${digits}-${checkDigits(fieldCode + digits)}`;
}

/**
 * Reads a bag's number in any case, whatever separates its parts and whether or not leading zeros survived
 * (`nfd 12 4` for `NFD-012-04`). Undefined when it is none or its check digits don't fit.
 */
export function readBagNumber(text: string): BagNumber | undefined {
  const parts = text
    .normalize('NFKC')
    .toUpperCase()
    .split(/[^A-Z0-9]+/)
    .filter(Boolean);
  const joined = parts.join('');
  const found = PATTERN.exec(joined) ?? PATTERN.exec(withZeros(parts));
  if (!found) return undefined;
  const [, fieldCode, digits, check] = found;
  const sample = Number(digits);
  return sample > 0 && checkDigits(fieldCode + digits) === check ? { fieldCode, sample } : undefined;
}

/**
 * Leading zeros that a spreadsheet or a laboratory dropped, put back. Zeros too many are never taken off: `0234` may be a
 * `1234` with a wrong digit.
 */
function withZeros(parts: readonly string[]): string {
  const [letters, ...digits] =
    parts.length === 1 ? (/^([A-Z]{3})(\d{3,4})$/.exec(parts[0])?.slice(1) ?? []) : parts;
  if (digits.length === 1) return letters + digits[0].padStart(5, '0');
  return digits.length === 2 ? letters + digits[0].padStart(3, '0') + digits[1].padStart(2, '0') : '';
}
