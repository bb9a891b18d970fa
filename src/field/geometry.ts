/** A position in the field's own frame: metres east and north of the frame's origin. */
export type Position = readonly [xM: number, yM: number];

/** A closed ring of positions (the first equals the last). */
export type Ring = readonly Position[];

/** One or more polygons, each an outer ring followed by its holes: GeoJSON's MultiPolygon nesting, in metres. */
export type Region = readonly (readonly Ring[])[];

/** Many positions in one flat array: x0, y0, x1, y1, … in metres. */
export type FlatPositions = Float64Array;
