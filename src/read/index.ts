export * from './problem.ts';
export * from './records.ts';
export { analyteCatalogue, findAnalyte, shownUnit, type CatalogueAnalyte } from './analyteCatalogue.ts';
export {
  chosenAnalyte,
  recogniseAnalyte,
  unitFactor,
  type NotAnAnalyte,
  type RecognisedAnalyte,
} from './recogniseAnalyte.ts';
export { decideDecimal, readCell, type Cell, type DecimalChoice, type DecimalSign } from './number.ts';
export { readTable, type Table } from './table.ts';
export { readPoints, type ReadTableOptions } from './readPoints.ts';
export { readYield } from './readYield.ts';
export { readBoundary } from './readBoundary.ts';
export { readKeepOut, type KeepOutLayer, type KeepOutShape } from './readKeepOut.ts';
export { readSoilUnits, type ReadSoilUnitsOptions } from './readSoilUnits.ts';
export { MAX_GPX_POSITIONS, readGpx, type GpxLayer, type GpxLine, type GpxWaypoint } from './readGpx.ts';
export { correctMapping, labSignature, type LabChoice, type LabMapping, type LabRole } from './labMapping.ts';
export {
  readLabResults,
  type LabColumn,
  type LabResults,
  type LabRow,
  type LabValue,
} from './readLabResults.ts';
