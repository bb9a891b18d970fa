import { randomBytes } from 'node:crypto';

/** An id nobody can guess: twenty hexadecimal digits. */
export const newId = (): string => randomBytes(10).toString('hex');

/** Whether a text can be an id; nothing else ever becomes part of a path. */
export const isId = (id: string): boolean => /^[0-9a-f]{20}$/.test(id);
