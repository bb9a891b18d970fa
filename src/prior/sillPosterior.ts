import type { WorkingScale } from '../describe/index.ts';
import { restrictedLogLikelihood, type LikelihoodParts } from '../variogram/index.ts';
import { sillOfCv, type Normal, type Prior } from './prior.ts';

/** Nodes of the quadrature over ln(sill). */
const SILL_NODES = 41;

/** Prior of u = ln(sill): its log density up to a constant, and a normal near it to place the quadrature with. */
export interface SillPrior {
  readonly near: Normal;
  readonly logDensity: (u: number) => number;
}

/**
 * The prior of ln(sill) that the CV's lognormal amounts to. Raw scale, at the sample's mean: sill = (cv·mean)², so a
 * normal; likewise on normal scores. Log scale: cv = √(exp(sill) − 1), with the Jacobian d ln(cv)/du = ½·eᵘ·exp(eᵘ)/(exp(eᵘ) − 1).
 */
export function logSillPrior(prior: Prior, scale: WorkingScale, sampleMean: number): SillPrior {
  const { mean, sd } = prior.logCv;
  const at = (z: number) =>
    Math.log(sillOfCv(Math.exp(mean + sd * z), scale, sampleMean, prior.cvAtUnitSill));
  const near = { mean: at(0), sd: (at(1) - at(-1)) / 2 };
  const normal = (x: number, n: Normal) => -0.5 * ((x - n.mean) / n.sd) ** 2 - Math.log(n.sd);
  if (scale !== 'log') return { near, logDensity: (u) => normal(u, near) };
  return {
    near,
    logDensity: (u) => {
      const sill = Math.exp(u);
      // ln(exp(sill) − 1) without overflow for large sills.
      const logExcess = sill > 30 ? sill : Math.log(Math.expm1(sill));
      return normal(0.5 * logExcess, prior.logCv) + Math.log(0.5) + u + sill - logExcess;
    },
  };
}

/** Nodes of ln(sill) that cover the product of its prior and its likelihood. */
function sillGrid(parts: LikelihoodParts, { near: prior }: SillPrior): { from: number; step: number } {
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
  prior: SillPrior,
): { grid: { from: number; step: number }; log: number[] } {
  const grid = sillGrid(parts, prior);
  const log: number[] = [];
  for (let k = 0; k < SILL_NODES; k++) {
    const u = grid.from + k * grid.step;
    log.push(restrictedLogLikelihood(parts, Math.exp(u)) + prior.logDensity(u));
  }
  return { grid, log };
}

/** ln ∫ L(sill) p(ln sill) d ln sill, the mean already integrated out. */
export function logEvidence(parts: LikelihoodParts, prior: SillPrior): number {
  const { grid, log } = sillLogDensities(parts, prior);
  const most = Math.max(...log);
  return most + Math.log(grid.step * log.reduce((s, v) => s + Math.exp(v - most), 0));
}

/** The p-quantile of ln(sill) given range and nugget share. */
export function sillQuantile(parts: LikelihoodParts, prior: SillPrior, p: number): number {
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
