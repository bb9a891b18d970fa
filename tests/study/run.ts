import { calibrate, calibrationTable, STUDIED, type CalibrationRow } from './calibration.ts';

const fields = Number(process.argv[2] ?? 200);
const rows: CalibrationRow[] = [];
for (const points of [8, 20, 60, 150])
  for (const [analyte, scale] of STUDIED) {
    rows.push(calibrate(analyte, scale, points, fields));
    process.stderr.write(`${analyte}, ${points} points: done\n`);
  }
const mean = (of: (r: CalibrationRow) => number) => rows.reduce((s, r) => s + of(r), 0) / rows.length;
process.stdout.write(`${calibrationTable(rows)}\n\n`);
process.stdout.write(
  `Over all ${rows.length * fields} fields: CV ${(100 * mean((r) => r.cv)).toFixed(1)} %, range ${(100 * mean((r) => r.range)).toFixed(1)} %, nugget share ${(100 * mean((r) => r.nugget)).toFixed(1)} %, error of a grid ${(100 * mean((r) => r.gridError)).toFixed(1)} %.\n`,
);
