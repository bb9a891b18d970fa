import type { Scale } from '../describe/index.ts';
import { restrictedLogLikelihood, type LikelihoodParts } from '../variogram/index.ts';
import { sillOfCv, type Normal, type Prior } from './prior.ts';

/** Nodes of the quadrature over ln(sill). */
const SILL_NODES = 41;

/** Normal prior of ln(sill) that the CV's prior amounts to, at the sample's mean on the raw scale. */
export function logSillPrior(prior: Prior, scale: Scale, sampleMean: number): Normal {
  const at = (z: number) =>
    Math.log(sillOfCv(Math.exp(prior.logCv.mean + prior.logCv.sd * z), scale, sampleMean));
  return { mean: at(0), sd: (at(1) - at(-1)) / 2 };
}

/** Nodes of ln(sill) that cover the product of its prior and its likelihood. */
function sillGrid(parts: LikelihoodParts, prior: Normal): { from: number; step: number } {
  const data = Math.log(parts.residualSS / Math.max(1, parts.n - 1));
  const dataPrecision = (parts.n - 1) / 2;
  const precision = 1 / prior.sd ** 2 + dataPrecision;
  const centre = (prior.mean / prior.sd ** 2 + data * dataPrecision) / precision;
  // With few points the likelihood's upper tail is long: the grid leans that way.
  const width = 6 / Math.sqrt(precision);
  return { from: centre - width, step: (2.2 * width) / (SILL_NODES - 1) };
}

function sillLogDensities(
  parts: LikelihoodParts,
  prior: Normal,
): { grid: { from: number; step: number }; log: number[] } {
  const grid = sillGrid(parts, prior);
  const log: number[] = [];
  for (let k = 0; k < SILL_NODES; k++) {
    const u = grid.from + k * grid.step;
    const t = (u - prior.mean) / prior.sd;
    log.push(restrictedLogLikelihood(parts, Math.exp(u)) - 0.5 * t * t - Math.log(prior.sd));
  }
  return { grid, log };
}

/** ln ∫ L(sill) p(ln sill) d ln sill, the mean already integrated out. */
export function logEvidence(parts: LikelihoodParts, prior: Normal): number {
  const { grid, log } = sillLogDensities(parts, prior);
  const most = Math.max(...log);
  return most + Math.log(grid.step * log.reduce((s, v) => s + Math.exp(v - most), 0));
}

/** The p-quantile of ln(sill) given range and nugget share. */
export function sillQuantile(parts: LikelihoodParts, prior: Normal, p: number): number {
  const { grid, log } = sillLogDensities(parts, prior);
  const most = Math.max(...log);
  const mass = log.map((v) => Math.exp(v - most));
  const total = mass.reduce((s, v) => s + v, 0);
  let sum = 0;
  for (let k = 0; k < mass.length; k++) {
    if (sum + mass[k] >= p * total) return grid.from + (k - 0.5 + (p * total - sum) / mass[k]) * grid.step;
    sum += mass[k];
  }
  return grid.from + (mass.length - 1) * grid.step;
}
