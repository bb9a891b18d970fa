import { rasterNodes, toWorld, type FlatPositions, type Frame, type Region } from '../field/index.ts';
import { centresInside, spatialCoverage, type ZoneMap } from '../design/index.ts';
import { walkingOrder } from '../design/route.ts';
import type { Advice, Stop } from './advice.ts';
import { isMap, type Candidate } from './candidates.ts';

/** Where to stop for a design, in walking order; for zones the places of single cores spread over each zone. */
export function layStops(
  candidate: Candidate,
  region: Region,
  frame: Frame,
): { readonly stops: readonly Stop[]; readonly zoneCells?: Advice['field']['zoneCells'] } {
  if (isMap(candidate)) {
    const { xy } = candidate.grid;
    if (candidate.pulled.kind === 'cells') return { stops: layCells(xy, candidate.pulled.coresOf, frame) };
    const stops = Array.from(walkingOrder(xy), (i, k) =>
      stopAt(frame, k + 1, String(k + 1), [xy[2 * i], xy[2 * i + 1]], candidate.cores, String(k + 1)),
    );
    return { stops };
  }
  const { map } = candidate;
  const { nodes, cellM } = rasterNodes(region, 1500);
  const zone = Int32Array.from({ length: nodes.length / 2 }, (_, i) =>
    map.zoneAt(nodes[2 * i], nodes[2 * i + 1]),
  );
  const stops: Stop[] = [];
  for (let z = 0; z < map.zones; z++) {
    const own: number[] = [];
    const edge: number[] = [];
    zone.forEach((label, i) => {
      if (label !== z) return;
      const [x, y] = [nodes[2 * i], nodes[2 * i + 1]];
      (insideZone(map, z, x, y, cellM) ? own : edge).push(x, y);
    });
    // A zone too thin to have a middle is walked along its edge.
    if (own.length / 2 < 2 * candidate.cores) own.push(...edge);
    const ownNodes = Float64Array.from(own);
    const places = Math.min(candidate.cores, ownNodes.length / 2);
    if (places === 0) continue;
    const xy = centresInside(ownNodes, spatialCoverage(ownNodes, places));
    const sample = map.zones === 1 ? 'whole field' : map.names[z];
    for (const i of walkingOrder(xy)) {
      const order = stops.length + 1;
      stops.push(stopAt(frame, order, String(order), [xy[2 * i], xy[2 * i + 1]], 1, sample));
    }
  }
  if (map.zones === 1) return { stops };
  const zoneCells = Array.from(zone, (z, i) => ({
    xM: nodes[2 * i],
    yM: nodes[2 * i + 1],
    sizeM: cellM,
    zone: z,
  }));
  return { stops, zoneCells };
}

/** The cores of each cell, cell after cell along the walk through them. */
function layCells(centres: FlatPositions, coresOf: readonly FlatPositions[], frame: Frame): readonly Stop[] {
  const stops: Stop[] = [];
  Array.from(walkingOrder(centres)).forEach((cell, k) => {
    const xy = coresOf[cell];
    for (const i of walkingOrder(xy)) {
      const order = stops.length + 1;
      stops.push(stopAt(frame, order, String(order), [xy[2 * i], xy[2 * i + 1]], 1, `cell ${k + 1}`));
    }
  });
  return stops;
}

/** Whether a place and the ground a cell away on all four sides belong to the zone: cores keep off its border. */
function insideZone(map: ZoneMap, z: number, x: number, y: number, cellM: number): boolean {
  return [
    [0, cellM],
    [0, -cellM],
    [cellM, 0],
    [-cellM, 0],
  ].every(([dx, dy]) => map.zoneAt(x + dx, y + dy) === z);
}

function stopAt(
  frame: Frame,
  order: number,
  label: string,
  at: readonly [number, number],
  cores: number,
  sample: string,
): Stop {
  return { order, label, xM: at[0], yM: at[1], world: toWorld(frame, at), cores, sample };
}
