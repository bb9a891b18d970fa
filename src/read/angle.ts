import { plainText } from './unitText.ts';
import { readCell, type DecimalSign } from './number.ts';

const PARTS =
  /^([+-]?)(\d{1,3})\s*(?:°|º|d|deg)\s*(\d{1,2}(?:[.,]\d+)?)\s*(?:['′’]|m)?\s*(?:(\d{1,2}(?:[.,]\d+)?)\s*(?:["″”]|''|s)?)?$/;
const HEMISPHERE = /^([nsew])?\s*(.*?)\s*([nsew])?$/;

/**
 * A coordinate cell to a number: decimal, or degrees with minutes and seconds, with or without N, S, E, W
 * (south and west are negative). NaN when it can't be read.
 *
 * @example readAngle('93° 12\' 30" W', 'point') // -93.2083…
 */
export function readAngle(text: string, decimal: DecimalSign): number {
  const cell = readCell(text, decimal);
  if (cell.kind === 'number' && cell.unit === undefined) return cell.value;
  const [, before, middle, after] = HEMISPHERE.exec(plainText(text)) ?? [];
  if (middle === undefined || middle === '' || (before && after)) return NaN;
  const value = readDegrees(middle, decimal);
  const letter = before ?? after;
  if (letter === undefined) return value;
  return letter === 's' || letter === 'w' ? -Math.abs(value) : value;
}

function readDegrees(text: string, decimal: DecimalSign): number {
  const bare = readCell(text.replace(/\s*[°º]$/, ''), decimal);
  if (bare.kind === 'number' && bare.unit === undefined) return bare.value;
  const match = PARTS.exec(text);
  if (!match) return NaN;
  const minutes = Number(match[3].replace(',', '.'));
  const seconds = Number((match[4] ?? '0').replace(',', '.'));
  if (minutes >= 60 || seconds >= 60) return NaN;
  const degrees = Number(match[2]) + minutes / 60 + seconds / 3600;
  return match[1] === '-' ? -degrees : degrees;
}
