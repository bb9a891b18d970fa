export * from './spacing.ts';
