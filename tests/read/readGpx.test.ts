import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readGpx } from '../../src/read/index.ts';
import { bytesOf, sentences, valueOf } from './bytes.ts';

const gpx = (body: string, attributes = 'version="1.1" xmlns="http://www.topografix.com/GPX/1/1"') =>
  bytesOf(`<?xml version="1.0"?>\n<gpx ${attributes}>${body}</gpx>`);
const read = (body: string) => readGpx('walk.gpx', gpx(body));

describe('a GPX file', () => {
  it('gives waypoints with name, place, height, time, words and plain extensions', () => {
    const { waypoints, kind } = valueOf(
      read(`
        <metadata><name>not a point</name></metadata>
        <wpt lat="41.2" lon="-38.5"><ele>251.3</ele><time>2026-11-02T14:05:00Z</time><name>S1</name>
          <cmt>comment</cmt><desc>moved 3 m &amp; marked</desc>
          <extensions><x:bag xmlns:x="urn:x">NFD-001-20</x:bag><x:deep xmlns:x="urn:x"><x:a>1</x:a></x:deep></extensions></wpt>
        <wpt lat="+41.21" lon="-38.51"/>`),
    );
    expect(kind).toBe('lonlat');
    expect(waypoints).toEqual([
      {
        row: 1,
        name: 'S1',
        lon: -38.5,
        lat: 41.2,
        elevationM: 251.3,
        time: '2026-11-02T14:05:00Z',
        description: 'moved 3 m & marked',
        extensions: { bag: 'NFD-001-20' },
      },
      { row: 2, name: '2', lon: -38.51, lat: 41.21, extensions: {} },
    ]);
  });

  it('gives routes, and a line for each segment of a track with its times', () => {
    const { routes, tracks } = valueOf(
      read(`
        <rte><name>in</name><rtept lat="1" lon="2"/><rtept lat="3" lon="4"/></rte>
        <trk><name>Monday</name>
          <trkseg><trkpt lat="1" lon="2"><time>2026-11-02T14:05:00Z</time></trkpt><trkpt lat="1" lon="2.5"/></trkseg>
          <trkseg></trkseg>
          <trkseg><trkpt lat="5" lon="6"/></trkseg></trk>`),
    );
    expect(routes.map((l) => [l.name, [...l.world]])).toEqual([['in', [2, 1, 4, 3]]]);
    expect(tracks.map((l) => [l.name, [...l.world], l.times])).toEqual([
      ['Monday', [2, 1, 2.5, 1], ['2026-11-02T14:05:00Z', '']],
      ['Monday', [6, 5], ['']],
    ]);
  });

  it('of version 1.0, with a prefix, in UTF-16, or with a byte-order mark', () => {
    const old = gpx('<wpt lat="1" lon="2"/>', 'version="1.0" xmlns="http://www.topografix.com/GPX/1/0"');
    expect(valueOf(readGpx('a', old)).waypoints).toHaveLength(1);
    const prefixed = bytesOf(
      '<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1"><g:wpt lat="1" lon="2"><g:name>a</g:name></g:wpt></g:gpx>',
    );
    expect(valueOf(readGpx('a', prefixed)).waypoints[0].name).toBe('a');
    const text = '\ufeff<gpx><wpt lat="1" lon="2"><name>Ж</name></wpt></gpx>';
    expect(valueOf(readGpx('a', bytesOf(text))).waypoints[0].name).toBe('Ж');
    const utf16 = new Uint8Array(Uint16Array.from([...text].map((c) => c.charCodeAt(0))).buffer);
    expect(valueOf(readGpx('a', utf16)).waypoints[0].name).toBe('Ж');
  });

  it.each([
    ['lat="41.2"', 'no readable position'],
    ['lat="41,2" lon="3"', 'no readable position'],
    ['lat="" lon="3"', 'no readable position'],
    ['lat="0x10" lon="3"', 'no readable position'],
    ['lat="Infinity" lon="3"', 'no readable position'],
    ['lat="-138.5" lon="41.2"', 'lies off the globe'],
    ['lat="1" lon="180.5"', 'lies off the globe'],
  ])('a waypoint with %s is set aside, its number said', (attributes, sentence) => {
    const outcome = read(`<wpt lat="1" lon="2"/><wpt ${attributes}/>`);
    expect(valueOf(outcome).waypoints).toHaveLength(1);
    expect(outcome.ok && outcome.notes.map((n) => [n.file, n.row])).toEqual([['walk.gpx', 2]]);
    expect(sentences(outcome)).toContain(sentence);
  });
});

describe('what is refused, in one sentence', () => {
  const bomb = `<?xml version="1.0"?>
<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]>
<gpx><wpt lat="1" lon="2"><name>&c;</name></wpt></gpx>`;
  const outside = `<?xml version="1.0"?><!doctype gpx SYSTEM "file:///etc/passwd"><gpx><wpt lat="1" lon="2"/></gpx>`;

  it.each([
    ['an entity bomb', bytesOf(bomb), 'document type declaration'],
    ['an entity from outside', bytesOf(outside), 'document type declaration'],
    [
      'an entity that nothing declares',
      gpx('<wpt lat="1" lon="2"><name>&c;</name></wpt>'),
      'not well-formed',
    ],
    ['a file cut short', bytesOf('<gpx><wpt lat="1" lon="2">'), 'not well-formed'],
    ['KML', bytesOf('<kml><Document/></kml>'), 'not GPX (kml)'],
    ['text', bytesOf('lat,lon\n1,2'), 'not well-formed'],
    ['nothing at all', new Uint8Array(0), 'empty'],
    ['a picture', Uint8Array.from([0x89, 0x50, 0x4e, 0x47, 0, 0]), 'not text'],
    ['no positions', gpx('<metadata/>'), 'no waypoint, route or track'],
    ['only bad positions', gpx('<wpt lat="x" lon="y"/>'), 'no waypoint, route or track'],
  ])('%s', (_, bytes, sentence) => {
    const outcome = readGpx('walk.gpx', bytes);
    expect(outcome.ok).toBe(false);
    expect(outcome.ok ? '' : outcome.problems[0].problem).toContain(sentence);
    expect(outcome.ok ? '' : outcome.problems[0].file).toBe('walk.gpx');
    expect(outcome.ok ? '' : outcome.problems[0].remedy).not.toBe('');
  });

  it('more positions than can be used, before any is parsed', () => {
    const many = gpx('<trk><trkseg>' + '<trkpt lat="1" lon="2"/>'.repeat(500_001) + '</trkseg></trk>');
    expect(sentences(readGpx('walk.gpx', many))).toContain('500,001 positions');
  });

  it('whatever comes, it is a value or a problem, never a throw', () => {
    const pieces = fc.constantFrom(
      '<gpx>',
      '</gpx>',
      '<wpt lat="1" lon="2">',
      '</wpt>',
      '<trk>',
      '<name>',
      '&',
      '<',
      '<![CDATA[',
      '<!--',
      'x',
      '\u0000',
      'lat="9"',
    );
    fc.assert(
      fc.property(fc.array(pieces, { maxLength: 12 }), (parts) => {
        const outcome = readGpx('walk.gpx', bytesOf(parts.join('')));
        expect(outcome.ok ? 1 : outcome.problems.length).toBeGreaterThan(0);
      }),
    );
  });
});
