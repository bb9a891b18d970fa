import type { SavedField, SavedSeason } from '../../views/models/savedModel.ts';
import type { Database } from './migration.ts';

interface Row extends Omit<SavedSeason, 'sample' | 'metric'> {
  readonly fieldId: string;
  readonly fieldName: string;
  readonly farmId: string | null;
  readonly farmName: string | null;
  readonly sample: number;
  readonly units: string | null;
}

const everySeason = `
  SELECT fields.id AS fieldId, fields.name AS fieldName, farms.id AS farmId, farms.name AS farmName,
    cases.id, year, changed_at AS changedAt, sample, json_extract(typed, '$.units') AS units,
    (SELECT count(*) FROM files WHERE case_id = cases.id) AS fileCount,
    CASE WHEN replies.revision = cases.revision THEN headline END AS headline,
    CASE WHEN replies.revision = cases.revision THEN headline IS NULL ELSE 0 END AS refused,
    CASE WHEN replies.revision = cases.revision THEN area_ha END AS areaHa
  FROM cases
  JOIN fields ON fields.id = field_id
  LEFT JOIN farms ON farms.id = farm_id
  LEFT JOIN replies ON replies.case_id = cases.id
  WHERE deletion_id IS NULL`;

/** Every field that has a season, seasons from the latest on; the replies themselves are not read. */
export function listSaved(db: Database): SavedField[] {
  return gather(db.prepare<[], Row>(`${everySeason} ORDER BY year DESC, changed_at DESC, cases.id`).all());
}

/** One field of that list. */
export function findField(db: Database, id: string): SavedField | undefined {
  const order = 'AND fields.id = ? ORDER BY year DESC, changed_at DESC, cases.id';
  return gather(db.prepare<[string], Row>(`${everySeason} ${order}`).all(id))[0];
}

function gather(rows: readonly Row[]): SavedField[] {
  const fields = new Map<string, Omit<SavedField, 'seasons'> & { readonly seasons: SavedSeason[] }>();
  for (const row of rows) {
    const { fieldId, fieldName, farmId, farmName, units, ...season } = row;
    let field = fields.get(fieldId);
    if (!field) {
      const farm = farmId === null || farmName === null ? undefined : { id: farmId, name: farmName };
      fields.set(fieldId, (field = { id: fieldId, name: fieldName, farm, seasons: [] }));
    }
    field.seasons.push({
      ...season,
      refused: Boolean(season.refused),
      sample: row.sample === 1,
      metric: units === 'metric',
    });
  }
  return [...fields.values()];
}
