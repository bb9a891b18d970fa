/** Whether a file's coordinates are longitude/latitude in degrees or a projection's metres. */
export type CoordinateKind = 'lonlat' | 'projected';

/** What the reader took a column for, and why; the user can correct it by header. */
export interface ColumnUse {
  readonly header: string;
  readonly role:
    'x' | 'y' | 'label' | 'analyte' | 'yield' | 'moisture' | 'speed' | 'time' | 'elevation' | 'ignored';
  /** Analyte id (`P`, `K`, `pH`, … or the header itself for one the catalogue doesn't know). */
  readonly analyte?: string;
  /** Unit the values were in, as recognised (`ppm`, `lb/ac`, `%`, …). */
  readonly unit?: string;
  /** Plain reason: "header says Mehlich-3 P in ppm". */
  readonly why: string;
}

/** A user's correction of one column: its role, or an analyte with its unit. */
export interface ColumnChoice {
  readonly role: ColumnUse['role'];
  readonly analyte?: string;
  readonly unit?: string;
}

/** One analyte's values, in the catalogue's unit (mg/kg for nutrients, % for organic matter, cmol(+)/kg for CEC). */
export interface AnalyteColumn {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  /** One value per point; NaN where missing. */
  readonly values: Float64Array;
  /** 1 where the laboratory reported "less than"; the value then holds the detection limit itself. */
  readonly belowDetection: Uint8Array;
  /** Extractant when the header names it (`Bray-P1`, `Mehlich-3`, `Olsen`, `ammonium acetate`). */
  readonly extractant?: string;
}

/** Soil-test points as read: world coordinates, one row per point. */
export interface PointTable {
  readonly file: string;
  readonly kind: CoordinateKind;
  /** x0, y0, x1, y1, … longitude/latitude or easting/northing. */
  readonly world: Float64Array;
  readonly labels: readonly string[];
  /** 1-based row in the file of each point. */
  readonly rows: Uint32Array;
  readonly analytes: readonly AnalyteColumn[];
  /** Height of the ground, m, when the file has it; NaN where missing. */
  readonly elevations?: Float64Array;
  readonly columns: readonly ColumnUse[];
}

/** Yield-monitor points as read. */
export interface YieldTable {
  readonly file: string;
  readonly kind: CoordinateKind;
  readonly world: Float64Array;
  readonly rows: Uint32Array;
  /** Yield in the file's own unit: only its pattern is used. */
  readonly yields: Float64Array;
  readonly unit: string;
  /** Ground speed in the file's own unit when the file has it; NaN where missing. */
  readonly speeds?: Float64Array;
  /** Grain moisture, %, when the file has it; NaN where missing. */
  readonly moistures?: Float64Array;
  /** Height of the ground, m, when the file has it; NaN where missing. */
  readonly elevations?: Float64Array;
  readonly columns: readonly ColumnUse[];
}

/** A boundary as read: polygons with holes in world coordinates (GeoJSON MultiPolygon nesting). */
export interface BoundaryLayer {
  readonly file: string;
  readonly kind: CoordinateKind;
  readonly polygons: readonly (readonly (readonly (readonly [number, number])[])[])[];
  readonly name?: string;
}

/** Soil-unit polygons as read. */
export interface SoilUnitLayer {
  readonly file: string;
  readonly kind: CoordinateKind;
  readonly units: readonly { readonly label: string; readonly polygons: BoundaryLayer['polygons'] }[];
}
