import { questions, type Question } from '../../src/prior/questions.ts';
import { choicePicture } from '../charts/choicePictures.ts';

/** What a form had in its fields, as text. */
export type Typed = Readonly<Record<string, string>>;

export interface QuestionField {
  readonly id: string;
  readonly ask: string;
  readonly help: string;
  readonly kind: Question['kind'];
  readonly unit?: Question['unit'];
  readonly value: string;
  readonly choices: readonly {
    readonly value: string;
    readonly label: string;
    readonly example: string;
    readonly picture: string;
    readonly checked: boolean;
  }[];
}

/** The questions as form fields holding what was typed before; “I don’t know” is chosen where nothing was. */
export function questionFields(
  typed: Typed,
  wanted: (q: Question) => boolean = () => true,
): readonly QuestionField[] {
  return questions.filter(wanted).map((q) => {
    const given = typed[q.id] ?? '';
    const known = q.choices?.some((c) => c.value === given) ?? false;
    return {
      id: q.id,
      ask: q.ask,
      help: q.help,
      kind: q.kind,
      unit: q.unit,
      value: given,
      choices: (q.choices ?? []).map((c) => ({
        value: c.value,
        label: c.label,
        example: c.example ?? '',
        picture: choicePicture(q.id, c.value),
        checked: known ? c.value === given : c.value === 'unknown',
      })),
    };
  });
}
