/** How yield without fresh input follows the test, relative to the most attainable; a published form with its figures. */
export type ResponseForm =
  | {
      /** 1 − 10^(−c·test) through `atCritical` at the critical level (Mitscherlich 1909; Bray 1944 for soil tests; form from memory). */
      readonly kind: 'mitscherlich';
      readonly atCritical: number;
    }
  | {
      /** From `atZero` straight up to 1 at `critical`, then level (Cate & Nelson's linear-plateau; form from memory). */
      readonly kind: 'linear-plateau';
      readonly atZero: number;
      /** Where the plateau starts; the rate's critical level when it isn't given. */
      readonly critical?: number;
    }
  | {
      /** Straight between [test, relative yield] pairs of rising test, level beyond the outermost. */
      readonly kind: 'table';
      readonly points: readonly (readonly [test: number, relativeYield: number])[];
    };

export interface YieldResponse {
  /** Relative yield, 0 to 1, for every finite test value. */
  readonly at: (test: number) => number;
  /** Test values at which it bends. */
  readonly bends: readonly number[];
}

/**
 * A response form as a function of the test.
 * @param critical the rate's critical level, in the form's unit of test; at 0 or below no yield is lost
 */
export function yieldResponse(form: ResponseForm, critical: number): YieldResponse {
  if (form.kind === 'table') return { at: through(form.points), bends: form.points.map(([x]) => x) };
  const level = form.kind === 'linear-plateau' ? (form.critical ?? critical) : critical;
  if (level <= 0) return { at: () => 1, bends: [] };
  if (form.kind === 'mitscherlich') {
    const exponent = Math.log(1 - form.atCritical);
    return { at: (test) => -Math.expm1(exponent * (Math.max(0, test) / level)), bends: [] };
  }
  const { atZero } = form;
  return {
    at: (test) => Math.min(1, atZero + (1 - atZero) * (Math.max(0, test) / level)),
    bends: [level],
  };
}

function through(points: readonly (readonly [number, number])[]): (test: number) => number {
  const last = points.length - 1;
  return (test) => {
    if (test <= points[0][0]) return points[0][1];
    for (let i = 1; i <= last; i++) {
      const [x1, y1] = points[i];
      if (test >= x1) continue;
      const [x0, y0] = points[i - 1];
      return y0 + ((y1 - y0) * (test - x0)) / (x1 - x0);
    }
    return points[last][1];
  };
}
