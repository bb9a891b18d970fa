import { test } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { correlation } from '../../src/variogram/index.ts';
import { ordinaryKriging, pointSamples, compositeSamples, blockPoints, blockVariance, meanCovariance, simulateField } from '../../src/krige/index.ts';
import { squareOfArea, spreadNodes, rasterNodes, regionAroundPoints, regionContains, areaHa } from '../../src/field/index.ts';
const out: string[] = [];
const say = (...a: unknown[]) => out.push(a.map((x) => (typeof x === 'number' ? x.toPrecision(6) : String(x))).join(' '));
test('p', async () => {
  const rnd = seededRandom(3);
  for (const kind of ['spherical', 'exponential'] as const) {
    // exact interpolation
    let low = 0; for (let t = 0; t < 200; t++) { const n = 3 + Math.floor(rnd() * 30); const xy = new Float64Array(2 * n).map(() => rnd() * 500); const r = ordinaryKriging(xy, xy.filter((_, i) => i % 2 === 0), xy, pointSamples({ kind, nugget: 0, partialSill: 1, effectiveRangeM: 50 + 1000 * rnd() })); low = Math.min(low, ...r.variances); }
    say('lowest variance at samples', kind, low);
    // disc vs MC
    for (const [r, a] of [[4.5, 60], [5, 30], [3, 100], [10, 40], [9, 25], [9, 300]]) {
      const c = compositeSamples(kind, a, 1, { radiusM: r, cores: 1e9, coreVariance: 0, labVariance: 0 });
      const disc = () => { const R = r * Math.sqrt(rnd()), t = 2 * Math.PI * rnd(); return [R * Math.cos(t), R * Math.sin(t)]; };
      let wb = 0, wp = 0, ab = 0, ap = 0; 
      for (const h of [0, .3 * r, r, 1.7 * r, 2.3 * r, 3.1 * r, 3.9 * r, 4.1 * r, 5 * r, 8 * r]) { let sb = 0, sp = 0; const N = 100000; for (let i = 0; i < N; i++) { const [x, y] = disc(), [u, v] = disc(); sb += correlation(kind, a, Math.hypot(h + x - u, y - v)); sp += correlation(kind, a, Math.hypot(h + x, y)); } const eb = Math.abs(sb / N - c.between(h)), ep = Math.abs(sp / N - c.toPoint(h)); if (eb > wb) { wb = eb; ab = h / r; } if (ep > wp) { wp = ep; ap = h / r; } }
      say('MC', kind, r, a, 'between', wb, 'at', ab, 'toPoint', wp, 'at', ap);
    }
    for (const q of [1, 2, 3, 3.9, 4, 4.1, 4.5, 5, 5.5, 6, 8, 10, 20, 50, 100, 300]) { const r = 10; const c = compositeSamples(kind, q * r, 1, { radiusM: r, cores: 10, coreVariance: 0, labVariance: 0 }); const e = 1e-7; say('jump', kind, q, c.between(4 * r - e) - c.between(4 * r + e), c.toPoint(4 * r - e) - c.toPoint(4 * r + e), 'beyond', Math.min(...[4.1,4.5,5,6].map((f) => c.between(f * r)))); }
    // PD probing
    for (const [r, a, cores] of [[9, 100, 1e6], [9, 100, 20], [9, 300, 20], [9, 50, 10], [9, 30, 10], [9, 100, 5], [5, 40, 20],[15,100,20]]) for (const sp of [1, 2, 3, 5, 9, 15, 20]) { const xy: number[] = []; for (let i = 0; i < 12; i++) for (let j = 0; j < 12; j++) xy.push(i * sp, j * sp); try { const c = compositeSamples(kind, a, 1, { radiusM: r, cores, coreVariance: 0, labVariance: 0 }); const v = ordinaryKriging(Float64Array.from(xy), undefined, Float64Array.of(3.3 * sp, 4.7 * sp, 0, 0, 5 * sp, 5 * sp), c).variances; const vb = ordinaryKriging(Float64Array.from(xy), undefined, Float64Array.of(3.3 * sp, 4.7 * sp, 5 * sp, 5 * sp), c, { blockM: 20 }).variances; if (Math.min(...v, ...vb) < 1e-12) say('NEG', kind, r, a, cores, sp, ...v, ...vb); } catch (e) { say('THROW', kind, r, a, cores, sp, (e as Error).message); } }
  }
  // block var
  for (const s of [10, 60]) say('block mean dist', -blockVariance((h) => -h, blockPoints(s)) * -1 / s);
  say('mean dist nodes', meanCovariance(spreadNodes(squareOfArea(1), 1000), (h) => h) / 100);
  for (const n of [50, 200, 1000]) { const a = spreadNodes(squareOfArea(10), n); const q = [0, 0, 0, 0]; for (let i = 0; i < n; i++) q[2 * Number(a[2 * i] > 0) + Number(a[2 * i + 1] > 0)]++; say('quad', n, a.length, ...q); }
  const rn = rasterNodes(squareOfArea(10), 1000); say('raster', rn.nodes.length / 2, rn.cellM, rn.nodes.length / 2 * rn.cellM ** 2 / 1e5);
  let bad = 0, nan = 0, minRatio = 9; for (let t = 0; t < 3000; t++) { const n = 3 + Math.floor(rnd() * 20); const k = rnd() < .5 ? 6 : 1e6; const xy = new Float64Array(2 * n).map(() => Math.floor(rnd() * k) / k * 300); try { const g = regionAroundPoints(xy); if (g[0][0].some((p) => !Number.isFinite(p[0] + p[1]))) nan++; for (let i = 0; i < n; i++) if (!regionContains(g, [xy[2 * i], xy[2 * i + 1]])) bad++; minRatio = Math.min(minRatio, areaHa(g)); } catch { say('threw', n, [...xy].join(',')); } }
  say('region bad', bad, nan, minRatio);
  const t0 = performance.now(); const xs = new Float64Array(400).map(() => rnd() * 500); for (let i = 0; i < 60; i++) simulateField(xs, { kind: 'spherical', nugget: .2, partialSill: .8, effectiveRangeM: 200 }, seededRandom(i)); say('sim ms', performance.now() - t0);
  (await import('node:fs')).writeFileSync('/tmp/m/out4.txt', out.join('\n'));
}, 600000);
