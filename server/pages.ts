/** The pages in words: each function renders one template with all it needs. */
import type { Response } from 'express';
import type { Advice } from '../src/advise/advice.ts';
import type { GivenFile } from '../src/advise/request.ts';
import { guidanceTables } from '../src/value/guidance.ts';
import { choiceForm, isChoiceField } from '../views/models/choiceOptions.ts';
import { optionFields, typedOption, unitOfField } from '../views/models/optionFields.ts';
import { questionFields, type Typed } from '../views/models/questionForm.ts';
import { columnUnits, columnUses } from '../views/models/readingModel.ts';
import { resultModel } from '../views/models/resultModel.ts';
import { takeAlong } from '../views/models/takeAlong.ts';
import { unitsOf } from './forms/question.ts';
import { roleLabel } from './forms/upload.ts';
import type { FileHeaders } from './headers.ts';
import type { Job } from './jobs.ts';

export interface ResultLinks {
  readonly geojson: string;
  readonly csv: string;
  readonly json: string;
  readonly edit?: string;
  readonly editLabel?: string;
  /** Where corrected columns go; absent where columns can't be corrected. */
  readonly columns?: string;
  /** Where the wish to delete it all goes. */
  readonly remove?: string;
  /** Where the wish to keep it goes; absent where it is kept already. */
  readonly keep?: string;
}

export interface AssumptionsForm {
  readonly action: string;
  readonly method: 'get' | 'post';
  readonly hidden: readonly (readonly [name: string, value: string])[];
}

export function renderResult(res: Response, advice: Advice, links: ResultLinks, form: AssumptionsForm): void {
  const { unitSystem, currency } = advice.options;
  const column = unitSystem === 'us' ? 0 : 1;
  res.render('result', {
    r: resultModel(advice),
    take: takeAlong(advice, links.csv),
    links,
    columnUses,
    columnUnits,
    assume: {
      ...form,
      choices: choiceForm(advice),
      fields: optionFields.map((f) => ({
        id: f.id,
        label: f.label,
        help: f.help,
        value: typedOption(f, advice.options),
        usual: f.usual[column],
        unit: unitOfField(f.kind, unitSystem, currency),
      })),
    },
  });
}

export function renderQuestions(res: Response, typed: Typed, problems: readonly string[]): void {
  res.render('questions', { typed, problems, units: unitsOf(typed), questions: questionFields(typed) });
}

export interface FilesPage {
  readonly typed: Typed;
  readonly problems: readonly string[];
  readonly caseId?: string;
  readonly kept?: readonly Pick<GivenFile, 'name' | 'role'>[];
  /** Tables whose columns the user may name by hand. */
  readonly tables?: readonly FileHeaders[];
}

const roles = [
  {
    role: 'points',
    label: 'Soil tests',
    help: 'One row a sample, with coordinates: CSV, GeoJSON or shapefile.',
    multiple: false,
  },
  { role: 'boundary', label: 'Boundary', help: 'GeoJSON, zipped shapefile or KML.', multiple: false },
  { role: 'soilUnits', label: 'Soil units', help: 'Polygons of a soil map.', multiple: false },
  { role: 'yield', label: 'Yield maps', help: 'One file a year.', multiple: true },
  {
    role: 'keepOut',
    label: 'Ground to keep out of',
    help: 'Waterways, terraces, old fence lines, yards, drains, wells, as polygons, lines or points: GeoJSON, KML or zipped shapefile. Stops are moved off it.',
    multiple: true,
  },
  {
    role: 'guidance',
    label: 'Rates of your region',
    help: 'A guidance table of your own, JSON: start from one that comes with the tool.',
    multiple: false,
  },
];

/** Asked in the upload form under another heading, or with the prices. */
const elsewhere = new Set(['area', 'labPrice', 'budget']);

export function renderFiles(res: Response, page: FilesPage): void {
  const { typed } = page;
  const units = unitsOf(typed);
  const questions = questionFields(typed, (q) => !elsewhere.has(q.id));
  res.render('files', {
    typed,
    problems: page.problems,
    units,
    roles,
    guidance: guidanceTables,
    caseId: page.caseId ?? '',
    tables: page.tables ?? [],
    columnUses,
    columnUnits,
    kept: (page.kept ?? []).map((f) => ({ name: f.name, roleLabel: roleLabel(f.role) })),
    carried: [
      ...Object.entries(typed).filter(([name, value]) => isChoiceField(name) && value !== ''),
      // Where files are kept, their own part of the form says so.
      ...(page.caseId && !page.kept?.length ? [['case', page.caseId]] : []),
    ],
    questions,
    options: optionFields.map((f) => ({ ...f, usual: f.usual[units === 'us' ? 0 : 1] })),
    openOptions: optionFields.some((f) => typed[f.id]),
    openQuestions: questions.some((q) => q.choices.some((c) => c.checked && c.value !== 'unknown')),
  });
}

export function renderWaiting(res: Response, job: Job): void {
  res.status(202).set('Cache-Control', 'no-store');
  res.render('waiting', {
    doing: `${job.doing} …`,
    percent: Math.round(100 * Math.min(1, Math.max(0, job.share))),
  });
}

export interface Trouble {
  readonly status: number;
  readonly heading: string;
  readonly sentence: string;
  readonly links?: readonly { readonly href: string; readonly label: string }[];
}

export function renderTrouble(res: Response, trouble: Trouble): void {
  res.status(trouble.status);
  res.render('trouble', { links: [{ href: '/', label: 'To the start' }], ...trouble });
}
