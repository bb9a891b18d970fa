import type { CropPlan, GrownCrop } from './crops.ts';
import type { FigureLedger } from './editableFigure.ts';
import type { Guidance } from './guidanceSchema.ts';
import type { Member, RateRule } from './rateRule.ts';
import { testUnits } from './rateUnits.ts';
import { yieldResponse, type ResponseForm, type YieldResponse } from './yieldResponse.ts';

/**
 * Relative yield of the whole plan over the test in the catalogue's unit: crops weighted by worth (by their years when nothing has
 * a price); those without a row lose nothing.
 * @param worth of each crop of the plan, in its order
 */
export function planResponse(
  guidance: Guidance,
  plan: CropPlan,
  members: readonly Member[],
  rule: RateRule,
  worth: readonly number[],
  ledger: FigureLedger,
): YieldResponse {
  const all = worth.reduce((sum, w) => sum + w, 0);
  const years = plan.crops.reduce((sum, c) => sum + c.years, 0);
  const testUnit = testUnits[members[0].row.test];
  const { of = (test: number) => test, back = (test: number) => test } = rule.response ?? {};
  const parts = members.map(({ crop, row }, i) => {
    const analyte = row.analyte === 'bufferPH' ? 'pH' : row.analyte;
    const held = guidance.responses.find((r) => r.analyte === analyte && r.crops.includes(crop.crop))!;
    const form = takeForm(held.form, held.source, analyte, crop, ledger);
    const index = plan.crops.indexOf(crop);
    return {
      share: all > 0 ? worth[index] / all : crop.years / years,
      response: yieldResponse(form, rule.criticals[i]),
    };
  });
  const unaffected = Math.max(0, 1 - parts.reduce((sum, p) => sum + p.share, 0));
  return {
    at: (test) => {
      const read = of(test / testUnit);
      let sum = unaffected;
      for (const p of parts) sum += p.share * p.response.at(read);
      return Math.min(1, sum);
    },
    bends: parts.flatMap((p) => p.response.bends.map((b) => back(b) * testUnit)),
  };
}

/** A response form with the user's figure in it. */
function takeForm(
  form: ResponseForm,
  source: string,
  analyte: string,
  { crop, name }: GrownCrop,
  ledger: FigureLedger,
): ResponseForm {
  const label = `Yield of ${name} without fresh ${analyte}, of the most`;
  const of = (key: string, where: string, value: number, least: number, most: number) =>
    ledger.take({
      key: `${crop}.${analyte}.${key}`,
      label: `${label}, ${where}`,
      value,
      unit: '',
      source,
      least,
      most,
    });
  if (form.kind === 'mitscherlich')
    return {
      ...form,
      atCritical: of('yieldAtCritical', 'at the critical level', form.atCritical, 0.5, 0.999),
    };
  if (form.kind === 'linear-plateau')
    return { ...form, atZero: of('yieldAtZero', 'at a test of 0', form.atZero, 0, 1) };
  return form;
}
