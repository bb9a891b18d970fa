/** What every chart must keep to, and how tests look into its markup. */
import { DOMParser, type Document, type Element } from '@xmldom/xmldom';
import { expect } from 'vitest';
import { roughTextWidth } from '../../views/charts/labels.ts';

/** The chart as a document: well formed, without broken numbers or the inline styles that the pages' policy blocks. */
export function parse(svg: string): Document {
  const document = new DOMParser({
    onError: (level, message) => {
      throw new Error(`${level}: ${message}`);
    },
  }).parseFromString(svg, 'image/svg+xml');
  expect(svg).not.toMatch(/NaN|undefined|Infinity/);
  expect(svg).not.toMatch(/ style="/);
  return document;
}

export const all = (document: Document, name: string, className?: string): Element[] =>
  [...document.getElementsByTagName(name)].filter(
    (e) => className === undefined || (e.getAttribute('class') ?? '').split(' ').includes(className),
  );

export const texts = (document: Document) => all(document, 'text').map((t) => t.textContent ?? '');

export const numberOf = (e: Element, name: string): number => Number(e.getAttribute(name));

interface Box {
  readonly text: string;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

function boxOf(t: Element, fontSize: number): Box {
  const text = t.textContent ?? '';
  const width = 0.9 * roughTextWidth(text, fontSize);
  const anchor = t.getAttribute('text-anchor') ?? 'start';
  const left = numberOf(t, 'x') - ({ start: 0, middle: width / 2, end: width }[anchor] ?? 0);
  const y = numberOf(t, 'y');
  return { text, left, right: left + width, top: y - 0.75 * fontSize, bottom: y + 0.15 * fontSize };
}

/** No text leaves the picture or lies over another. */
export function expectReadable(document: Document, fontSize: number): void {
  const [, , width, height] = (document.documentElement?.getAttribute('viewBox') ?? '')
    .split(' ')
    .map(Number);
  const boxes = all(document, 'text').map((t) => boxOf(t, fontSize));
  for (const b of boxes) {
    expect(b.left, b.text).toBeGreaterThanOrEqual(0);
    expect(b.right, b.text).toBeLessThanOrEqual(width);
    expect(b.top, b.text).toBeGreaterThanOrEqual(0);
    expect(b.bottom, b.text).toBeLessThanOrEqual(height);
  }
  boxes.forEach((a, i) => {
    for (const b of boxes.slice(i + 1)) {
      const over = a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
      expect(over ? `“${a.text}” over “${b.text}”` : '').toBe('');
    }
  });
}
