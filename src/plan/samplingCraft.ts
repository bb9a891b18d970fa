/** A line of a field sheet that holds for every field. */
export interface CraftLine {
  readonly text: string;
  readonly source: string;
}

/** Lines under one heading. */
export interface CraftSection {
  readonly heading: string;
  readonly lines: readonly CraftLine[];
}

const PRACTICE = 'common practice, no source';
const NC_STATE = 'NC State Extension, soil sampling strategies for site-specific field management, figure 6';

const practice = (heading: string, texts: readonly string[]): CraftSection => ({
  heading,
  lines: texts.map((text) => ({ text, source: PRACTICE })),
});

const BUCKET: CraftLine = {
  text: 'Use a clean plastic bucket: galvanized steel and brass leave zinc and copper in the sample.',
  source: PRACTICE,
};
const MIX = 'break up the cores, pick out stones and stalks, and mix until the color is even.';
const FILL: CraftLine = {
  text: 'Fill the bag to the line on it, fold it shut, and check its number against this sheet.',
  source: PRACTICE,
};

/**
 * How a stop of its own bag is sampled, in the order it is done.
 * @param radius how far from the stop its cores may be pulled, as the plan was reckoned: `16 ft`; the usual when not given
 */
export function stepsAtStop(radius?: string): CraftSection {
  return {
    heading: 'At each stop',
    lines: [
      { text: 'Find the bag with the stop’s number and tick the stop off on this sheet.', source: PRACTICE },
      BUCKET,
      radius === undefined
        ? {
            text: 'Pull the cores in a circle of 15 to 30 ft (5 to 9 m) around the stop, not all from one row; 8 to 10 are usual.',
            source: NC_STATE,
          }
        : {
            text: `Pull the cores within ${radius} of the stop, all around it, not all from one row.`,
            source: 'as this plan was reckoned',
          },
      { text: `Then ${MIX}`, source: PRACTICE },
      FILL,
      { text: 'Empty and wipe the bucket before the next stop.', source: PRACTICE },
    ],
  };
}

/** How a bag is filled from several stops: those of a zone, of a cell or of the whole field. */
export const stepsForBag: CraftSection = {
  heading: 'For each bag',
  lines: [
    { text: 'Take the bag’s bucket to all its stops before you begin the next bag.', source: PRACTICE },
    BUCKET,
    {
      text: 'Pull the cores that this sheet gives at each stop, and no more where it is easy: 15 to 20 over the whole zone are usual.',
      source: `${NC_STATE}; Oklahoma State University, SF 1-98: 15 to 20, about 18 represent the field’s variability`,
    },
    { text: `After the last stop ${MIX}`, source: PRACTICE },
    FILL,
    { text: 'Empty and wipe the bucket before the next bag.', source: PRACTICE },
  ],
};

/** What makes a core worth sending in. */
export const goodCore: CraftSection = practice('A good core', [
  'Scrape crop residue aside; leave the soil.',
  'Push the probe straight down to the depth mark: short cores read too high in phosphorus and potassium where fertilizer lies near the surface.',
  'Every core to the same depth. If the probe stops on a stone or a hard pan, pull it and go a step aside.',
  'If the core falls out, breaks off or comes up compressed to half its length, throw it away and pull another.',
  'In banded or strip-till ground take cores between the rows as well as in them; note it on the sheet.',
  'Too wet to crumble is too wet to sample. Oil on the probe gets into micronutrients: wipe it with a dry cloth.',
]);

/** Places whose soil doesn't stand for the field. */
export const placesToAvoid: CraftSection = practice('Don’t pull here: step aside and note it', [
  'Headlands and turn rows, and within 50 ft (15 m) of a gravel road.',
  'Old fence lines, farmsteads, feedlots and field roads.',
  'Dead furrows and back furrows, terraces and their channels.',
  'Where manure, lime or fertilizer was piled or spilled, and where hay was fed.',
  'Wet spots, gullies, tile trenches and eroded knobs, unless the stop is there to sample them.',
  'Animal droppings, burned brush, fertilizer bands you can see.',
]);

/** What hurts people at this work. */
export const safety: CraftSection = practice('Safety', [
  'Before a probe goes into the ground have buried lines located through the local one-call service (811 in the United States), and wait for the marks. Private lines to wells, barns and bins aren’t marked by it: ask the owner.',
  'Stop when the probe meets something that is not soil or stone. Never force it.',
  'Hydraulic probes: hands and sleeves clear of the carriage, engine off before clearing a jam, nobody behind the vehicle, no overhead lines above the mast.',
  'Utility vehicles: belt and helmet, across slopes only where you would turn around, never with the probe down.',
  'Heat: water, shade and a rest every hour; work early. Tell someone which field you are in and when you will be back.',
  'Check whether the field was sprayed, and keep out until the label’s re-entry time has passed. Wash hands before eating.',
  'Lightning: leave the field, away from the probe and the bare ridge.',
]);

/** After the last stop. */
export const afterwards: CraftSection = practice('Before you leave, and after', [
  'Count the bags against this sheet. Note every stop that was moved or skipped and why.',
  'Keep bags cool and out of the sun; send them within a day or two, or air-dry them. Nitrate samples go on ice.',
  'Put the submission list into the parcel and keep a copy.',
]);
