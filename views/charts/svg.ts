/** SVG as text: elements, escaping and rounding. No DOM, so that the server and the browser can both draw. */

export type Attributes = Readonly<Record<string, string | number | boolean | undefined>>;

/** Text made safe for element content and attribute values. */
export function escapeXml(text: string): string {
  return text
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;')
    .replace(/"/g, '&quot;')
    .replace(/'/g, '&#39;');
}

/**
 * A number as SVG takes it, to two decimals.
 * @throws RangeError for a value that isn't finite: a chart must filter its data before it draws
 */
export function coordinate(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`A chart was given ${value} for a coordinate.`);
  return String(Math.round(value * 100) / 100);
}

/** One element; attributes that are undefined or false are left out, children are markup already. */
export function element(name: string, attributes: Attributes, ...children: readonly string[]): string {
  const written = Object.entries(attributes).flatMap(([key, value]) => {
    if (value === undefined || value === false) return [];
    const shown = typeof value === 'number' ? coordinate(value) : value === true ? '' : escapeXml(value);
    return [` ${key}="${shown}"`];
  });
  const inner = children.join('');
  return inner === '' ? `<${name}${written.join('')}/>` : `<${name}${written.join('')}>${inner}</${name}>`;
}

/** A `text` element. */
export function label(x: number, y: number, text: string, attributes: Attributes = {}): string {
  return element('text', { x, y, ...attributes }, escapeXml(text));
}

export interface Picture {
  readonly id: string;
  readonly width: number;
  readonly height: number;
  readonly title: string;
  readonly description: string;
  readonly className: string;
}

/** The outer `svg` with its title and description for those who can't see it. */
export function picture(p: Picture, ...children: readonly string[]): string {
  return element(
    'svg',
    {
      xmlns: 'http://www.w3.org/2000/svg',
      viewBox: `0 0 ${coordinate(p.width)} ${coordinate(p.height)}`,
      class: `chart ${p.className}`,
      role: 'img',
      'aria-label': p.title,
      'aria-describedby': `${p.id}-desc`,
    },
    element('title', {}, escapeXml(p.title)),
    element('desc', { id: `${p.id}-desc` }, escapeXml(p.description)),
    ...children,
  );
}
