// Ways on WGS 84 by `geod` of PROJ 9.1.1 (Debian's proj-bin; Karney 2013, Algorithms for geodesics). Writes geodesics.json:
// node tests/reference/geodesics.mjs
import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const places = [
  [-93.5, 42.1],
  [12.25, 0],
  [-58.4, -34.6],
  [25.7, 62.2],
  [179.99, -41.3],
];
const distances = [0.5, 20, 400, 5000, 20_000];
const bearings = [0, 37.5, 90, 141, 215.25, 300];

const geod = (args, lines) => {
  const { stdout, status } = spawnSync(
    'geod',
    [...args, '-f', '%.10f', '-F', '%.6f', '+ellps=WGS84', '+units=m'],
    {
      input: lines.join('\n'),
      encoding: 'utf8',
    },
  );
  if (status !== 0) throw new Error('geod is needed: install proj-bin.');
  return stdout
    .trim()
    .split('\n')
    .map((line) => line.trim().split(/\s+/).map(Number));
};

const asked = places.flatMap(([lon, lat]) =>
  distances.flatMap((m) => bearings.map((deg) => ({ lon, lat, m, deg }))),
);
const ends = geod(
  [],
  asked.map(({ lon, lat, m, deg }) => `${lat} ${lon} ${deg} ${m}`),
);
const ways = asked.map(({ lon, lat }, i) => ({ from: [lon, lat], to: [ends[i][1], ends[i][0]] }));
const back = geod(
  ['-I'],
  ways.map(({ from, to }) => `${from[1]} ${from[0]} ${to[1]} ${to[0]}`),
);
const all = ways.map((way, i) => ({ ...way, bearingDeg: (back[i][0] + 360) % 360, distanceM: back[i][2] }));
writeFileSync(
  path.join(path.dirname(fileURLToPath(import.meta.url)), 'geodesics.json'),
  `[\n${all.map((w) => JSON.stringify(w)).join(',\n')}\n]\n`,
);
