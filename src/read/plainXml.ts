import { DOMParser, onErrorStopParsing, type Document } from '@xmldom/xmldom';
import type { Problem } from './problem.ts';

/**
 * XML without a document type declaration, of a stated kind. Neither KML nor GPX needs one, and entities declared in one
 * can be made to grow without end.
 * @param kind as it reads in a sentence, `KML`; its root element is the same in small letters
 * @param instead what to do when it is XML of another kind
 */
export function parsePlainXml(
  file: string,
  text: string,
  kind: 'KML' | 'GPX',
  instead: string,
): Document | Problem {
  if (/<!DOCTYPE|<!ENTITY/i.test(text))
    return {
      file,
      problem: 'The file has a document type declaration (DOCTYPE), which is not accepted.',
      remedy: `Export plain ${kind} without it.`,
    };
  let document: Document;
  try {
    document = new DOMParser({ onError: onErrorStopParsing }).parseFromString(text, 'text/xml');
  } catch {
    return {
      file,
      problem: 'The file is not well-formed XML.',
      remedy: `Export the ${kind} again; it may be cut short.`,
    };
  }
  const root = document.documentElement?.localName;
  if (root !== kind.toLowerCase())
    return { file, problem: `The file is XML but not ${kind} (${root ?? 'no root'}).`, remedy: instead };
  return document;
}
