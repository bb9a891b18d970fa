import type { Migration } from './migration.ts';
import { savedWork } from './savedWork.ts';
import { walkMigrations } from './walkMigrations.ts';

/** Every step of the database's shape, in order; new ones go to the end. */
export const migrations: readonly Migration[] = [savedWork, ...walkMigrations];
