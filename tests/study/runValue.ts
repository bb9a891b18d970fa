import { compareLosses, VALUE_CASES, valueTable, type ValueRow } from './value.ts';

/** Fields drawn at each placing of the cores. */
const FIELDS = 100;
const placings = Number(process.argv[2] ?? 20);
if (!Number.isInteger(placings) || placings < 1)
  throw new RangeError(`Placings are a whole number from 1, not ${process.argv[2]}.`);
const rows: ValueRow[] = [];
for (const [i, of] of VALUE_CASES.entries()) {
  rows.push(
    ...compareLosses(
      of,
      {
        areaHa: 16,
        blocks: 48,
        fieldNodes: 300,
        designs: [1, 4, 9, 16, 36, 64],
        placings,
        fieldsPerPlacing: FIELDS,
      },
      i + 1,
    ),
  );
  process.stderr.write(`${of.name}: done\n`);
}
process.stdout.write(`${valueTable(rows)}\n\n`);
process.stdout.write(
  `${placings * FIELDS} fields a property; losses per ha and year; ratio: simulated over worked out.\n`,
);
