import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readWalkEvent, readWalkFile, writeWalkFile } from '../../src/plan/walkEventSchema.ts';
import { mergeEvents, stateOf, stopStates, type WalkEvent } from '../../src/plan/walkEvents.ts';
import { eventOf, uuidOf, walkOptions } from './walks.ts';

/** Events of few ids, stops and minutes, so that they meet: also two with one id and different contents. */
const event: fc.Arbitrary<WalkEvent> = fc
  .record({
    n: fc.integer({ min: 0, max: 12 }),
    minute: fc.integer({ min: 0, max: 4 }),
    stop: fc.integer({ min: 1, max: 3 }),
    kind: fc.constantFrom('done' as const, 'skipped' as const, 'undone' as const, 'note' as const),
    walker: fc.constantFrom('A', 'B'),
    of: fc.integer({ min: 0, max: 12 }),
  })
  .map(({ n, minute, stop, kind, walker, of }) => ({
    ...eventOf(minute, stop, { kind, walker }),
    id: uuidOf(n),
    ...(kind === 'undone' && { undoes: [uuidOf(of)] }),
    ...((kind === 'skipped' || kind === 'note') && { reason: 'wet' }),
  }));
const events = fc.array(event, { maxLength: 14 });
const runs = { seed: 2026, numRuns: 300 };

describe('events brought together', () => {
  it('come to the same in any order and any grouping', () => {
    fc.assert(
      fc.property(events, events, events, (a, b, c) => {
        const all = mergeEvents(a, b, c);
        expect(mergeEvents(c, a, b)).toEqual(all);
        expect(mergeEvents([...a, ...b].reverse(), [...c].reverse())).toEqual(all);
        expect(stopStates([...c, ...b, ...a])).toEqual(stopStates(all));
      }),
      runs,
    );
  });

  it('a phone that was told piece by piece ends as one told at once, where ids hold one event each', () => {
    fc.assert(
      fc.property(events, events, (a, b) => {
        const one = new Map([...a, ...b].map((e) => [e.id, e]));
        const own = (list: readonly WalkEvent[]) => list.map((e) => one.get(e.id) ?? e);
        expect(mergeEvents(mergeEvents(own(a)), own(b))).toEqual(mergeEvents(own(a), own(b)));
      }),
      runs,
    );
  });

  it('are no more for being told twice', () => {
    fc.assert(
      fc.property(events, (a) => {
        const once = mergeEvents(a);
        expect(mergeEvents(a, a, once)).toEqual(once);
        expect(new Set(once.map((e) => e.id)).size).toBe(once.length);
      }),
      runs,
    );
  });

  it('a mark taken back is open again, wherever the taking back is heard first', () => {
    const done = eventOf(1, 2);
    const undone = eventOf(2, 2, { kind: 'undone', undoes: [done.id] });
    for (const list of [
      [done, undone],
      [undone, done],
    ])
      expect(stateOf(stopStates(list), 2)).toEqual({ state: 'open', standing: [], notes: [] });
    // A phone whose clock runs behind still takes back what it names.
    expect(stateOf(stopStates([done, { ...undone, at: '2020-01-01T00:00:00Z' }]), 2).state).toBe('open');
  });

  it('taking back one’s own mark leaves the other’s', () => {
    const [a, b] = [eventOf(1, 2), eventOf(2, 2, { walker: 'B' })];
    const state = stateOf(stopStates([a, b, eventOf(3, 2, { kind: 'undone', undoes: [b.id] })]), 2);
    expect([state.state, state.mark]).toEqual(['done', a]);
  });

  it('a filled bag counts, whoever skipped the stop before or after', () => {
    const done = eventOf(2, 1);
    for (const n of [1, 3]) {
      const skipped = eventOf(n, 1, { kind: 'skipped', reason: 'wet', walker: 'B' });
      const state = stateOf(stopStates([skipped, done]), 1);
      expect([state.state, state.mark, state.standing.length]).toEqual(['done', done, 2]);
    }
  });

  it('a later mark of the same kind is the one shown; notes stand beside', () => {
    const later = eventOf(5, 1, { walker: 'B', cores: 9 });
    const note = eventOf(3, 1, { kind: 'note', reason: 'stony' });
    expect(stateOf(stopStates([later, note, eventOf(1, 1)]), 1)).toMatchObject({
      mark: later,
      notes: [note],
    });
    expect(stateOf(stopStates([later]), 7).state).toBe('open');
  });
});

describe('an event from elsewhere', () => {
  const read = (event: unknown) => readWalkEvent(event, walkOptions.id, 7);
  const good = eventOf(1, 2, { lat: 42, lon: -93, accuracyM: 4, cores: 10, bag: 'NFD-001-20' });

  it('is taken as it is', () => {
    expect(read(good)).toEqual({ ok: true, event: good });
    expect(read(eventOf(1, 2, { kind: 'undone', undoes: [uuidOf(3)] })).ok).toBe(true);
    expect(read(eventOf(1, 2, { kind: 'skipped', reason: 'wet' })).ok).toBe(true);
  });

  it.each([
    ['a stop the walk has not', { ...good, stop: 8 }, 'this walk has no stop 8'],
    ['another walk', { ...good, walkId: 'f'.repeat(20) }, 'it is of another walk'],
    ['a latitude past the pole', { ...good, lat: 91 }, 'lat is not as it should be'],
    ['half a place', { ...good, lon: undefined }, 'the mark is not as it should be'],
    ['a member of nobody’s', { ...good, colour: 'red' }, 'the mark is not as it should be'],
    ['no time', { ...good, at: 'noon' }, 'at is not as it should be'],
    ['half a core', { ...good, cores: 1.5 }, 'cores is not as it should be'],
    ['a name too long', { ...good, walker: 'x'.repeat(25) }, 'walker is not as it should be'],
    ['a skip without a reason', { ...good, kind: 'skipped' }, 'reason is not as it should be'],
    ['a taking back of nothing', { ...good, kind: 'undone' }, 'undoes is not as it should be'],
    ['another kind', { ...good, kind: 'lost' }, 'kind is not as it should be'],
  ])('is refused with %s', (_, event, why) => {
    expect(read(event)).toEqual({ ok: false, id: good.id, why });
  });

  it('is refused when it is no event at all', () => {
    for (const value of [undefined, null, 4, 'x', [], {}]) expect(read(value).ok).toBe(false);
  });
});

describe('a file of marks', () => {
  const list = [eventOf(1, 1), eventOf(2, 3, { kind: 'skipped', reason: 'wet' })];

  it('reads back as it was written', () => {
    const text = writeWalkFile(walkOptions.id, 'North Field', list);
    expect(readWalkFile(text, walkOptions.id, 7)).toEqual({ ok: true, events: list, refused: 0 });
  });

  it('gives what can be read of it', () => {
    const text = writeWalkFile(walkOptions.id, 'North Field', [...list, eventOf(3, 99)]);
    expect(readWalkFile(text, walkOptions.id, 7)).toEqual({ ok: true, events: list, refused: 1 });
  });

  it.each([
    ['{', 'not a file of marks'],
    ['{"kind":"FeatureCollection"}', 'not a file of marks'],
    [writeWalkFile('f'.repeat(20), 'North Field', []), 'another walk'],
  ])('says what is wrong with %s', (text, sentence) => {
    const read = readWalkFile(text, walkOptions.id, 7);
    expect(read.ok ? '' : read.sentence).toContain(sentence);
  });
});
