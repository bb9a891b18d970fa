import { plainKernels } from './plainKernels.ts';
import { vectorKernels } from './vectorKernels.ts';

/**
 * The loops that most of the time goes into, over numbers in an array of their own. Matrices, vectors and single numbers are given
 * by where they begin in it. Whatever was in the array before is lost to whoever calls next.
 */
export interface Kernels {
  /** The array, of at least so many numbers; an earlier one may no longer hold. */
  readonly reserve: (numbers: number) => Float64Array;
  /**
   * The first m numbers of a row of A − w pᵀ − p wᵀ into v, and their sum of squares into `square`.
   * @param a the row's place; @param i the row's number
   */
  readonly takeRow: (
    a: number,
    i: number,
    m: number,
    w: number,
    p: number,
    v: number,
    square: number,
  ) => void;
  /**
   * A −= w pᵀ + p wᵀ, then q = A v, for the leading m × m block of a symmetric matrix held in the lower triangle.
   * Rows are taken by fours: where m is made up to a multiple of four, w, p and v must be 0, and A finite.
   * @param row numbers from one row to the next
   */
  readonly updateAndMultiply: (
    a: number,
    row: number,
    m: number,
    w: number,
    p: number,
    v: number,
    q: number,
  ) => void;
  /**
   * q = (q − ½·(vᵀq)·s·v)·s and, of `count` vectors b that lie `row` apart, b −= (vᵀb)·s·v, with s at `scale`.
   * Numbers are taken by pairs: where m is made even v must be 0, and the others finite.
   */
  readonly reflect: (
    v: number,
    q: number,
    m: number,
    scale: number,
    b: number,
    count: number,
    row: number,
  ) => void;
  /** |Lc|² of four vectors side by side, for a lower triangular L with an even number of rows and columns, into `out`. */
  readonly squaresOfFour: (l: number, row: number, rows: number, c: number, out: number) => void;
  /**
   * The same of vectors that are 0 but in some rows, at least one, of which alone c is held. At `met` are these rows' numbers,
   * rising, as 32-bit integers, and `rows` after them.
   */
  readonly squaresOfSome: (l: number, row: number, rows: number, c: number, out: number, met: number) => void;
}

let known: Kernels | undefined;

/** By vectors where the engine has them and the page may use them, else in plain loops; made when first asked for. */
export function kernels(): Kernels {
  known ??= vectorKernels() ?? plainKernels();
  return known;
}
