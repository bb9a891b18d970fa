/** Reading values off a chart by pointer or by the arrow keys; the values stand in the marks' data attributes. */

const HINT = 'Point at a mark to read its values, or step along with the arrow keys.';

interface Mark {
  readonly group: SVGGElement;
  readonly hit: SVGCircleElement;
  readonly says: string;
}

function marksOf(svg: SVGSVGElement): Mark[] {
  return [...svg.querySelectorAll<SVGGElement>('.mark')].flatMap((group) => {
    const hit = group.querySelector<SVGCircleElement>('.hit');
    return hit ? [{ group, hit, says: group.dataset.say ?? '' }] : [];
  });
}

/** Left to right along a curve; a map's stops are in walking order already, and bars in rows are read row by row. */
function inOrder(svg: SVGSVGElement, marks: readonly Mark[]): readonly Mark[] {
  if (svg.matches('.field-map, .in-rows')) return marks;
  return [...marks].sort((a, b) => a.hit.cx.baseVal.value - b.hit.cx.baseVal.value);
}

function nearest(
  svg: SVGSVGElement,
  marks: readonly Mark[],
  clientX: number,
  clientY: number,
): Mark | undefined {
  const matrix = svg.getScreenCTM();
  if (!matrix) return undefined;
  const at = new DOMPoint(clientX, clientY).matrixTransform(matrix.inverse());
  const far = (m: Mark) => Math.hypot(m.hit.cx.baseVal.value - at.x, m.hit.cy.baseVal.value - at.y);
  const best = [...marks].sort((a, b) => far(a) - far(b))[0];
  return best && far(best) < 60 ? best : undefined;
}

function makeReadable(svg: SVGSVGElement, readout: HTMLElement): void {
  const marks = inOrder(svg, marksOf(svg));
  if (marks.length === 0) return;
  let at = -1;
  const show = (index: number) => {
    marks[at]?.group.classList.remove('is-read');
    at = index;
    const mark = marks[index];
    mark?.group.classList.add('is-read');
    readout.classList.toggle('reading', mark !== undefined);
    readout.textContent = mark?.says ?? HINT;
  };
  readout.hidden = false;
  readout.textContent = HINT;
  svg.setAttribute('tabindex', '0');
  svg.addEventListener('pointermove', (event) => {
    const mark = nearest(svg, marks, event.clientX, event.clientY);
    if (mark) show(marks.indexOf(mark));
  });
  svg.addEventListener('keydown', (event) => {
    const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[event.key];
    if (event.key === 'Home') show(0);
    else if (event.key === 'End') show(marks.length - 1);
    else if (event.key === 'Escape') show(-1);
    else if (step)
      show(at < 0 && step < 0 ? marks.length - 1 : Math.min(marks.length - 1, Math.max(0, at + step)));
    else return;
    event.preventDefault();
  });
}

for (const figure of document.querySelectorAll<HTMLElement>('[data-chart]')) {
  const readout = figure.querySelector<HTMLElement>('.readout');
  if (readout)
    for (const svg of figure.querySelectorAll<SVGSVGElement>('svg.chart')) makeReadable(svg, readout);
}
