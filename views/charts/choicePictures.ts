/** Small drawings beside the choices of the questionnaire. Classes carry the colours. */
import { element } from './svg.ts';

const W = 64;
const H = 40;

const path = (className: string, d: string) => element('path', { class: className, d });
const box = (className: string, x: number, y: number, width: number, height: number) =>
  element('rect', { class: className, x, y, width, height });
const frame = box('line', 1, 1, W - 2, H - 2);

function drawing(...parts: readonly string[]): string {
  return element(
    'svg',
    { class: 'choice-picture', viewBox: `0 0 ${W} ${H}`, 'aria-hidden': 'true' },
    ...parts,
  );
}

/** Bars of yield across a field. */
const bars = (heights: readonly number[]) =>
  drawing(
    ...heights.map((h, i) => box('dark', 4 + i * 10, H - 3 - h, 7, h)),
    path('line', `M1,${H - 2}H${W - 1}`),
  );

const rows = [8, 16, 24, 32];

const pictures: Readonly<Record<string, string>> = {
  'soilUnits-one': drawing(box('tone', 1, 1, W - 2, H - 2), frame),
  'soilUnits-few': drawing(
    box('tone', 1, 1, W - 2, H - 2),
    path('dark', `M1,22C18,12 26,34 42,24S56,12 63,16V39H1Z`),
    frame,
  ),
  'soilUnits-many': drawing(
    box('tone', 1, 1, W - 2, H - 2),
    path('dark', 'M1,20C14,10 22,28 30,39H1Z'),
    path('mid', 'M26,1C30,14 44,16 63,12V1Z'),
    path('dark', 'M44,22c8,-4 14,2 10,8s-16,2 -10,-8Z'),
    frame,
  ),
  'slope-flat': drawing(path('dark', `M1,28H63V39H1Z`), path('line', 'M1,28H63')),
  'slope-rolling': drawing(
    path('dark', `M1,28C14,16 22,16 32,24S52,32 63,20V39H1Z`),
    path('line', 'M1,28C14,16 22,16 32,24S52,32 63,20'),
  ),
  'slope-eroded': drawing(
    path('dark', 'M1,30C10,28 14,8 22,8S32,32 40,30S50,12 63,14V39H1Z'),
    path('pale', 'M15,16C17,10 19,8 22,8S27,12 29,18Z'),
    path('line', 'M1,30C10,28 14,8 22,8S32,32 40,30S50,12 63,14'),
  ),
  'merged-no': drawing(box('tone', 1, 1, W - 2, H - 2), frame),
  'merged-two': drawing(
    box('tone', 1, 1, W - 2, H - 2),
    box('mid', 36, 1, 27, H - 2),
    path('dashed', 'M36,1V39'),
    frame,
  ),
  'merged-several': drawing(
    box('tone', 1, 1, W - 2, H - 2),
    box('mid', 24, 1, 39, 18),
    box('dark', 44, 19, 19, 20),
    path('dashed', 'M24,1V39M24,19H63M44,19V39'),
    frame,
  ),
  'fertiliser-uniform': drawing(box('mid', 1, 1, W - 2, H - 2), frame),
  'fertiliser-banded': drawing(
    box('tone', 1, 1, W - 2, H - 2),
    ...rows.map((y) => path('row', `M3,${y}H61`)),
    frame,
  ),
  'fertiliser-variable': drawing(
    box('tone', 1, 1, 21, 19),
    box('dark', 22, 1, 21, 19),
    box('mid', 43, 1, 20, 19),
    box('mid', 1, 20, 21, 19),
    box('tone', 22, 20, 21, 19),
    box('dark', 43, 20, 20, 19),
    frame,
  ),
  'fertiliser-little': drawing(frame),
  'yieldSpread-even': bars([28, 29, 27, 29, 28, 28]),
  'yieldSpread-some': bars([28, 24, 30, 22, 27, 25]),
  'yieldSpread-large': bars([30, 12, 26, 9, 32, 18]),
};

/** The drawing for a choice, or nothing. */
export function choicePicture(question: string, choice: string): string {
  return pictures[`${question}-${choice}`] ?? '';
}
