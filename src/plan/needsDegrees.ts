import type { Problem } from '../read/index.ts';
import type { Plan } from './exports.ts';

/** Why a plan can't be written in a format that holds only longitude and latitude on WGS 84; undefined when it can. */
export function needsDegrees(plan: Plan, format: 'GPX' | 'KML'): Problem | undefined {
  if (plan.field.frame.kind === 'geographic') return undefined;
  return {
    file: `${plan.field.name || 'field'}.${format.toLowerCase()}`,
    problem: `${format} holds only longitude and latitude, and this field’s files are in metres of a map projection that they don’t name.`,
    remedy:
      'Give the field’s files in WGS 84 (EPSG:4326), or take the stops as CSV, GeoJSON or a shapefile in the same metres.',
  };
}
