import type { FlatPositions } from '../field/geometry.ts';
import { spreadIndex } from './spread.ts';

/** Positions sorted into square cells, for finding neighbours within a cell's width. */
export interface CellGrid {
  /**
   * Calls `visit` with the positions in the cell of (x, y) and the eight around it.
   * A heap of more than `MOST_PER_CELL` in one cell is thinned evenly.
   */
  near(xM: number, yM: number, visit: (index: number) => void): void;
}

/** Many hundred points in one cell are a fault of the file; thinning keeps the work linear. */
const MOST_PER_CELL = 500;

/** Sorts some positions (by index) into cells of `sizeM`. */
export function cellGrid(xy: FlatPositions, indices: Iterable<number>, sizeM: number): CellGrid {
  const cells = new Map<string, number[]>();
  const cellOf = (v: number): number => Math.floor(v / sizeM);
  for (const i of indices) {
    const key = `${cellOf(xy[2 * i])} ${cellOf(xy[2 * i + 1])}`;
    const cell = cells.get(key);
    if (cell) cell.push(i);
    else cells.set(key, [i]);
  }
  return {
    near(xM, yM, visit) {
      const [column, row] = [cellOf(xM), cellOf(yM)];
      for (let r = row - 1; r <= row + 1; r++)
        for (let c = column - 1; c <= column + 1; c++) {
          const cell = cells.get(`${c} ${r}`) ?? [];
          const n = Math.min(cell.length, MOST_PER_CELL);
          for (let k = 0; k < n; k++) visit(cell[spreadIndex(k, n, cell.length)]);
        }
    },
  };
}
