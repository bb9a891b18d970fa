/** What is known of the ground at every field node before anyone samples: a measurement, or a class such as a soil unit. */
export type Covariate =
  | {
      readonly kind: 'number';
      readonly name: string;
      /** One value a node; what is not finite counts as missing. */
      readonly values: ArrayLike<number>;
      readonly weight?: number;
    }
  | {
      readonly kind: 'class';
      readonly name: string;
      /** Class of each node, from 0; below 0 is missing. */
      readonly labels: ArrayLike<number>;
      readonly weight?: number;
    };

/** Covariates brought to one measure, so that distances between nodes mean something. */
export interface Covariates {
  readonly names: readonly string[];
  readonly n: number;
  readonly p: number;
  /** n × p, row by row: the p values of node 0, then of node 1, … */
  readonly data: Float64Array;
}

/**
 * Columns less their mean, over their standard deviation (divisor n), times their weight (1 if not stated).
 * A class becomes one indicator column for each of its values, scaled so that together they vary as much as one
 * measured column would: else a soil map of nine units would outweigh a yield map. A missing value takes the column's mean.
 * Columns that do not vary are left out.
 * @returns undefined when no column varies
 * @throws RangeError when columns differ in length
 */
export function standardise(columns: readonly Covariate[]): Covariates | undefined {
  const lengthOf = (c: Covariate) => (c.kind === 'number' ? c.values.length : c.labels.length);
  const n = columns.length > 0 ? lengthOf(columns[0]) : 0;
  const names: string[] = [];
  const kept: Float64Array[] = [];
  for (const c of columns) {
    if (lengthOf(c) !== n)
      throw new RangeError(`Covariate ${c.name} has ${lengthOf(c)} values, the first has ${n}.`);
    const parts = c.kind === 'number' ? [centred(Float64Array.from(c.values))] : indicators(c.labels);
    let variance = 0;
    for (const part of parts) for (const v of part) variance += (v * v) / n;
    if (!(variance > 1e-18)) continue;
    const scale = (c.weight ?? 1) / Math.sqrt(variance);
    parts.forEach((part, i) => {
      names.push(parts.length > 1 ? `${c.name} ${i + 1}` : c.name);
      kept.push(part.map((v) => v * scale));
    });
  }
  const p = kept.length;
  if (p === 0) return undefined;
  const data = new Float64Array(n * p);
  for (let i = 0; i < n; i++) for (let j = 0; j < p; j++) data[i * p + j] = kept[j][i];
  return { names, n, p, data };
}

/** Less the mean of what is known; zero where missing or, by rounding alone, not constant. */
function centred(values: Float64Array): Float64Array {
  let [sum, count, most] = [0, 0, 0];
  for (const v of values)
    if (Number.isFinite(v)) {
      sum += v;
      count++;
      most = Math.max(most, Math.abs(v));
    }
  const mean = count > 0 ? sum / count : 0;
  return values.map((v) => (Number.isFinite(v) && Math.abs(v - mean) > 1e-12 * most ? v - mean : 0));
}

function indicators(labels: ArrayLike<number>): Float64Array[] {
  const classes = [...new Set(Array.from(labels).filter((l) => l >= 0))].sort((a, b) => a - b);
  return classes.map((c) =>
    centred(Float64Array.from(labels, (l) => (l < 0 ? Number.NaN : l === c ? 1 : 0))),
  );
}
