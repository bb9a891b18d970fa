import { openDatabase } from './database/openDatabase.ts';
import type { Database } from './database/migration.ts';
import { migrations } from './database/migrations.ts';
import { walkMigrations } from './database/walkMigrations.ts';
import type { UseDatabase } from './walkStore.ts';

/** The walks' own handle on the database of a data folder, opened when first needed. */
export function walkDatabase(dataDir: string): UseDatabase {
  let db: Database | undefined;
  return (work) => work((db ??= openDatabase(dataDir, [...new Set([...migrations, ...walkMigrations])])));
}
