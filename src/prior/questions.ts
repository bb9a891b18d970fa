/**
 * The questionnaire as data: at most a dozen plain questions, each with "I don't know".
 * What an answer does to the prior is in `shifts.ts`; this file is only what is asked.
 */
export interface Choice {
  readonly value: string;
  readonly label: string;
  readonly example?: string;
}

export interface Question {
  readonly id: string;
  readonly ask: string;
  /** One line of help: where to look, or an example. */
  readonly help: string;
  readonly kind: 'number' | 'choice';
  readonly unit?: 'area' | 'money';
  readonly choices?: readonly Choice[];
}

const unsure: Choice = { value: 'unknown', label: 'I don’t know' };

export const questions: readonly Question[] = [
  {
    id: 'area',
    ask: 'How big is the field?',
    help: 'The farmed part only. A quarter section is 160 acres (65 ha).',
    kind: 'number',
    unit: 'area',
  },
  {
    id: 'soilUnits',
    ask: 'How many different soils does it have?',
    help: 'Count the units on a soil map, or the colours and textures you see on bare ground.',
    kind: 'choice',
    choices: [
      { value: 'one', label: 'One', example: 'Looks the same from end to end' },
      { value: 'few', label: 'Two or three' },
      { value: 'many', label: 'Four or more' },
      unsure,
    ],
  },
  {
    id: 'slope',
    ask: 'How does the ground lie?',
    help: 'Pale knolls and dark hollows are a sign that topsoil has moved.',
    kind: 'choice',
    choices: [
      { value: 'flat', label: 'Flat or nearly so' },
      { value: 'rolling', label: 'Gently rolling' },
      { value: 'eroded', label: 'Hilly, with pale or worn knolls' },
      unsure,
    ],
  },
  {
    id: 'manure',
    ask: 'Has manure been spread, or was there a yard, feedlot or farmstead on it?',
    help: 'Old homesteads and places where stock were fed can test high for a lifetime.',
    kind: 'choice',
    choices: [
      { value: 'never', label: 'No' },
      { value: 'past', label: 'Yes, long ago' },
      { value: 'regular', label: 'Yes, and part of it gets manure still' },
      unsure,
    ],
  },
  {
    id: 'merged',
    ask: 'Was it once several fields, farmed apart?',
    help: 'Old fence rows or property lines often divide different fertiliser histories.',
    kind: 'choice',
    choices: [
      { value: 'no', label: 'No, always one field' },
      { value: 'two', label: 'Two fields' },
      { value: 'several', label: 'Three or more' },
      unsure,
    ],
  },
  {
    id: 'fertiliser',
    ask: 'How has fertiliser been spread in the last ten years?',
    help: 'The usual way, not a single odd year.',
    kind: 'choice',
    choices: [
      { value: 'uniform', label: 'One rate over the whole field' },
      { value: 'banded', label: 'In bands beside or below the row' },
      { value: 'variable', label: 'Different rates in different parts' },
      { value: 'little', label: 'Little or none' },
      unsure,
    ],
  },
  {
    id: 'yieldSpread',
    ask: 'How unlike are the good and the poor places at harvest?',
    help: 'Compare the best and the worst tenth of the field in a normal year.',
    kind: 'choice',
    choices: [
      { value: 'even', label: 'Much alike', example: 'Less than a tenth apart' },
      { value: 'some', label: 'Some difference', example: 'A tenth to a third' },
      { value: 'large', label: 'Very unlike', example: 'More than a third' },
      unsure,
    ],
  },
  {
    id: 'phosphorus',
    ask: 'What did the last soil test say of phosphorus?',
    help: 'Any whole-field test from the last ten years will do.',
    kind: 'choice',
    choices: [
      { value: 'low', label: 'Low' },
      { value: 'right', label: 'About right' },
      { value: 'high', label: 'High' },
      unsure,
    ],
  },
  {
    id: 'potassium',
    ask: 'And of potassium?',
    help: 'Potash on some reports.',
    kind: 'choice',
    choices: [
      { value: 'low', label: 'Low' },
      { value: 'right', label: 'About right' },
      { value: 'high', label: 'High' },
      unsure,
    ],
  },
  {
    id: 'crop',
    ask: 'What will it mostly grow in the next four years?',
    help: 'The crop that needs the most fertiliser decides.',
    kind: 'choice',
    choices: [
      { value: 'corn-soybean', label: 'Corn and soybean' },
      { value: 'corn', label: 'Corn' },
      { value: 'soybean', label: 'Soybean' },
      { value: 'wheat', label: 'Wheat in the rotation' },
      { value: 'alfalfa', label: 'Alfalfa' },
      unsure,
    ],
  },
  {
    id: 'labPrice',
    ask: 'What does your laboratory charge for a complete analysis?',
    help: 'A single sample. 25 to 30 USD is common; leave it empty if you don’t know.',
    kind: 'number',
    unit: 'money',
  },
  {
    id: 'budget',
    ask: 'Is there a most you would spend on sampling this field?',
    help: 'For the whole field, once. Leave it empty for no limit.',
    kind: 'number',
    unit: 'money',
  },
];

/** Answers by question id; a missing key means "I don't know". Area is in hectares inside. */
export interface Answers {
  readonly areaHa?: number;
  readonly soilUnits?: 'one' | 'few' | 'many';
  readonly slope?: 'flat' | 'rolling' | 'eroded';
  readonly manure?: 'never' | 'past' | 'regular';
  readonly merged?: 'no' | 'two' | 'several';
  readonly fertiliser?: 'uniform' | 'banded' | 'variable' | 'little';
  readonly yieldSpread?: 'even' | 'some' | 'large';
  readonly phosphorus?: 'low' | 'right' | 'high';
  readonly potassium?: 'low' | 'right' | 'high';
  readonly crop?: 'corn-soybean' | 'corn' | 'soybean' | 'wheat' | 'alfalfa';
  readonly labPrice?: number;
  readonly budget?: number;
}
