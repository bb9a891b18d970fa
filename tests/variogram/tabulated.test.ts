import { describe, expect, it } from 'vitest';
import { correlation } from '../../src/variogram/index.ts';
import { tabulatedInLogDistance } from '../../src/variogram/tabulated.ts';
import { expectWithin } from '../reference/near.ts';

describe('correlation from a table of ln distance', () => {
  it.each([0.15, 0.4, 0.8, 1.2, 2, 3.3, 5])('Matérn of smoothness %d within 1e-8 over four decades', (nu) => {
    const rho = (h: number) => correlation('matern', 400, h, nu);
    const table = tabulatedInLogDistance(rho, 0.5, 5000);
    for (let k = 0; k <= 997; k++) {
      const h = 0.5 * 1e4 ** (k / 997);
      expectWithin(table(Math.min(h, 5000)), rho(Math.min(h, 5000)), 1e-8, `${h} m`);
    }
  });

  it('asks the function itself outside the table', () => {
    const asked: number[] = [];
    const table = tabulatedInLogDistance((h) => (asked.push(h), 1 / (1 + h)), 10, 100);
    asked.length = 0;
    expect([table(0), table(9), table(101)]).toEqual([1, 1 / 10, 1 / 102]);
    expect(asked).toEqual([0, 9, 101]);
    table(50);
    expect(asked).toHaveLength(3);
  });
});
