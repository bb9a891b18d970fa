import { describe, expect, it } from 'vitest';
import { analyteCatalogue, findAnalyte } from '../../src/read/analyteCatalogue.ts';
import { coordinateName, labelRank } from '../../src/read/columns.ts';
import { chosenAnalyte, recogniseAnalyte, unitFactor } from '../../src/read/recogniseAnalyte.ts';
import { guidanceTables } from '../../src/value/guidance.ts';
import { yieldColumn } from '../../src/read/yieldColumns.ts';

const known: readonly (readonly [header: string, id: string, factor: number, extractant?: string])[] = [
  ['P', 'P', 1],
  ['P1', 'P', 1],
  ['PHOS1', 'P', 1],
  ['Phosphorus', 'P', 1],
  ['Bray P1 ppm', 'P', 1, 'Bray-P1'],
  ['Bray-P2', 'P', 1, 'Bray-P2'],
  ['BRAY_P', 'P', 1, 'Bray-P1'],
  ['M3-P (ppm)', 'P', 1, 'Mehlich-3'],
  ['P_M3', 'P', 1, 'Mehlich-3'],
  ['Mehlich 3 P', 'P', 1, 'Mehlich-3'],
  ['Mehlich-III K mg/kg', 'K', 1, 'Mehlich-3'],
  ['Mehlich 1 P', 'P', 1, 'Mehlich-1'],
  ['Olsen P', 'P', 1, 'Olsen'],
  ['Olsen', 'P', 1, 'Olsen'],
  ['P_ppm', 'P', 1],
  ['PPPM', 'P', 1],
  ['P lb/ac', 'P', 0.5],
  ['P (lbs/acre)', 'P', 0.5],
  ['P lb/A', 'P', 0.5],
  ['P2O5 (mg/kg)', 'P', 1 / 2.2914],
  ['P₂O₅ mg/100 g', 'P', 10 / 2.2914],
  ['POT1', 'K', 1],
  ['Potash', 'K', 1],
  ['K (lb/ac)', 'K', 0.5],
  ['K_kg_ha', 'K', 1 / (2 * 1.1208511)],
  ['K meq/100g', 'K', 390.98],
  ['K2O mg/kg', 'K', 1 / 1.2046],
  ['K NH4OAc', 'K', 1, 'ammonium acetate'],
  ['pH', 'pH', 1],
  ['pH 1:1', 'pH', 1],
  ['PH1', 'pH', 1],
  ['Soil pH', 'pH', 1],
  ['water pH', 'pH', 1],
  ['BpH', 'bufferPH', 1],
  ['Buffer pH', 'bufferPH', 1],
  ['PHB', 'bufferPH', 1],
  ['Sikora', 'bufferPH', 1, 'Sikora'],
  ['Sikora-2 BpH', 'bufferPH', 1, 'Sikora'],
  ['SMP', 'bufferPH', 1, 'SMP'],
  ['SMP1', 'bufferPH', 1, 'SMP'],
  ['SMP pH', 'bufferPH', 1, 'SMP'],
  ['pH_SMP', 'bufferPH', 1, 'SMP'],
  ['SMP Buffer pH', 'bufferPH', 1, 'SMP'],
  ['Buffer pH (SMP)', 'bufferPH', 1, 'SMP'],
  ['BpH (Sikora)', 'bufferPH', 1, 'Sikora'],
  ['Shoemaker-McLean-Pratt buffer', 'bufferPH', 1, 'SMP'],
  ['Mehlich buffer pH', 'bufferPH', 1, 'Mehlich buffer'],
  ['Mehlich BpH', 'bufferPH', 1, 'Mehlich buffer'],
  ['Buffer pH Mehlich', 'bufferPH', 1, 'Mehlich buffer'],
  ['Adams-Evans buffer pH', 'bufferPH', 1, 'Adams-Evans'],
  ['Woodruff buffer', 'bufferPH', 1, 'Woodruff'],
  ['OM%', 'OM', 1],
  ['% OM', 'OM', 1],
  ['OM1', 'OM', 1],
  ['om', 'OM', 1],
  ['Organic Matter', 'OM', 1],
  ['OM (g/kg)', 'OM', 0.1],
  ['CEC1', 'CEC', 1],
  ['CEC (meq/100g)', 'CEC', 1],
  ['CEC cmol(+)/kg', 'CEC', 1],
  ['CEC mmol/kg', 'CEC', 0.1],
  ['MG1', 'Mg', 1],
  ['Mg mg/kg', 'Mg', 1],
  ['Mg kg/ha', 'Mg', 1 / (2 * 1.1208511)],
  ['Ca (cmol/kg)', 'Ca', 200.39],
  ['zinc', 'Zn', 1],
  ['Zn DTPA', 'Zn', 1, 'DTPA'],
  ['Zn HCl', 'Zn', 1, '0.1 N HCl'],
  ['ZN1_HCL', 'Zn', 1, '0.1 N HCl'],
  ['HCl-Zn (ppm)', 'Zn', 1, '0.1 N HCl'],
  ['Zn 0.1 N HCl', 'Zn', 1, '0.1 N HCl'],
  ['Zn (0.1N HCl) ppm', 'Zn', 1, '0.1 N HCl'],
  ['Zn_01N_HCl', 'Zn', 1, '0.1 N HCl'],
  ['0,1 M HCl Zinc mg/kg', 'Zn', 1, '0.1 N HCl'],
  ['Zinc, hydrochloric acid', 'Zn', 1, '0.1 N HCl'],
  ['NO3-N', 'nitrate', 1],
  ['Nitrate-N ppm', 'nitrate', 1],
  ['SO4-S', 'S', 1],
  ['Sulphur', 'S', 1],
  ['B hot water', 'B', 1, 'hot water'],
  ['Na', 'Na', 1],
  ['PCLAY1', 'clay', 1],
  ['Clay %', 'clay', 1],
  ['P 0-6 in', 'P', 1],
  ['Soil Test P (ppm)', 'P', 1],
];

describe('recogniseAnalyte', () => {
  const cases = known.map(([header, id, factor, extractant]) => ({ header, id, factor, extractant }));
  it.each(cases)('$header is $id', ({ header, id, factor, extractant }) => {
    const found = recogniseAnalyte(header);
    expect(found).toMatchObject({ kind: 'analyte', id });
    if (found.kind !== 'analyte') return;
    expect(found.factor).toBeCloseTo(factor, 5);
    expect(found.extractant).toBe(extractant);
    expect(found.unit).toBe(findAnalyte(id)?.unit);
    expect(found.why).not.toBe('');
  });

  it.each(
    'PROFILE ELEV MAPCLASS PROFCLASS LIME1 VAL1 CHR1 DEPTHCM DEP2LIME dist dist.m ffreq soil lime landuse elev'.split(
      ' ',
    ),
  )('%s is not an analyte', (header) => {
    const found = recogniseAnalyte(header);
    expect(found.kind).toBe('ignored');
    expect(found.why).not.toBe('');
  });

  it.each([
    'P2O5 rec lb/ac',
    'K Sat %',
    '%K',
    'Ca % sat',
    'K/Mg ratio',
    'P rating',
    'Yield goal',
    'Crop',
    'N rate',
    'foo',
  ])('%j is not an analyte', (header) => expect(recogniseAnalyte(header).kind).toBe('ignored'));

  it('takes no other strength of an acid for the one guidance is for', () => {
    for (const header of ['Zn 1 N HCl ppm', 'Zn 6M HCl (mg/kg)', 'Zn_1N_HCl ppm']) {
      const found = recogniseAnalyte(header);
      expect(found.kind === 'analyte' && found.extractant, header).not.toBe('0.1 N HCl');
    }
  });

  it('takes a sample’s number for no buffer', () => {
    for (const header of ['Smp No', 'SMP_ID', 'smp lab no'])
      expect(recogniseAnalyte(header).kind).toBe('ignored');
    expect(recogniseAnalyte('Mehlich 3 P')).toMatchObject({ id: 'P', extractant: 'Mehlich-3' });
  });

  it('knows every extractant and buffer that the guidance tables have limits for', () => {
    const rows = guidanceTables.flatMap((g) => g.rows);
    for (const { analyte, extractants } of rows)
      for (const extractant of extractants) {
        const label = findAnalyte(analyte)!.label;
        for (const header of [`${extractant} ${label}`, `${label} (${extractant})`])
          expect(recogniseAnalyte(header), header).toMatchObject({ id: analyte, extractant });
      }
  });

  it('keeps trace elements and other measures under their own header', () => {
    expect(recogniseAnalyte('cadmium')).toMatchObject({ kind: 'analyte', id: 'cadmium', unit: '' });
    expect(recogniseAnalyte('Lead (ppm)')).toMatchObject({
      kind: 'analyte',
      id: 'Lead (ppm)',
      unit: 'mg/kg',
    });
    expect(recogniseAnalyte('Xyz mg/kg')).toMatchObject({ kind: 'analyte', id: 'Xyz mg/kg' });
  });

  it('has no name that belongs to two analytes', () => {
    const names = analyteCatalogue.flatMap((a) => a.names);
    expect(new Set(names).size).toBe(names.length);
  });
});

describe('chosenAnalyte', () => {
  it('takes the id and unit the user says', () => {
    expect(chosenAnalyte('col7', 'k', 'lb/ac')).toMatchObject({ id: 'K', factor: 0.5, why: 'chosen by you' });
    expect(chosenAnalyte('col7', 'P', 'mg/kg P2O5')).toMatchObject({ id: 'P', fileUnit: 'mg/kg P2O5' });
    expect(chosenAnalyte('col7', 'pH', 'pH')).toMatchObject({ id: 'pH' });
    expect(chosenAnalyte('LIME1', 'lime', undefined)).toMatchObject({ id: 'lime', factor: 1 });
  });
  it('quotes a unit that can’t be', () => {
    expect(chosenAnalyte('col7', 'K', 'furlongs')).toContain('furlongs');
    expect(chosenAnalyte('col7', 'OM', 'lb/ac')).toContain('lb/ac');
  });
  it('knows factors for units behind numbers', () => {
    expect(unitFactor('K', 'lb/ac')).toBe(0.5);
    expect(unitFactor('P', 'ppm', 'P2O5')).toBeCloseTo(1 / 2.2914, 10);
    expect(unitFactor('OM', 'lb/ac')).toBeUndefined();
  });
});

describe('coordinateName and labelRank', () => {
  it.each([
    ['lon', 'x', 'degrees'],
    ['Longitude (deg)', 'x', 'degrees'],
    ['LONG', 'x', 'degrees'],
    ['lat', 'y', 'degrees'],
    ['gps_lat', 'y', 'degrees'],
    ['Latitude_WGS84', 'y', 'degrees'],
    ['easting', 'x', 'metres'],
    ['UTM_E', 'x', 'metres'],
    ['utm_north', 'y', 'metres'],
    ['XCOORD', 'x', 'plain'],
    ['POINT_Y', 'y', 'plain'],
    ['x (m)', 'x', 'plain'],
    ['Y_ft', 'y', 'plain'],
  ])('%j is %s in %s', (header, axis, sense) =>
    expect(coordinateName(header)).toMatchObject({ axis, sense }),
  );
  it.each(['P', 'OM', 'K', 'yield', 'longevity', 'plate', 'Na'])('%j is none', (header) =>
    expect(coordinateName(header)).toBeUndefined(),
  );
  it('sees feet', () => {
    expect(coordinateName('Easting (ft)')?.lengthUnit).toBe('ft');
    expect(coordinateName('Northing US survey feet')?.lengthUnit).toBe('us-ft');
  });
  it('prefers the sample to the row number', () => {
    expect(labelRank('Sample ID')).toBeLessThan(labelRank('FID') ?? 0);
    expect(labelRank('PROFILE')).toBeDefined();
    expect(labelRank('Bag #')).toBeDefined();
    expect(labelRank('P')).toBeUndefined();
  });
});

describe('yieldColumn', () => {
  it('knows the trade’s headers and prefers dry volume', () => {
    expect(yieldColumn('Yld Vol(Dry)(bu/ac)')).toMatchObject({ role: 'yield', unit: 'bu/ac' });
    expect(yieldColumn('yield')).toMatchObject({ role: 'yield' });
    expect(yieldColumn('Dry Yield t/ha')).toMatchObject({ role: 'yield', unit: 't/ha' });
    const dry = yieldColumn('Yld Vol(Dry)(bu/ac)')?.score ?? 0;
    expect(dry).toBeGreaterThan(yieldColumn('Yld Vol(Wet)(bu/ac)')?.score ?? 0);
    expect(dry).toBeGreaterThan(yieldColumn('Yld Mass(Dry)(lb/ac)')?.score ?? 0);
  });
  it('knows the others', () => {
    expect(yieldColumn('Moisture(%)')?.role).toBe('moisture');
    expect(yieldColumn('Speed(mph)')?.role).toBe('speed');
    expect(yieldColumn('GPS Time')?.role).toBe('time');
    expect(yieldColumn('Target yield')).toBeUndefined();
    expect(yieldColumn('Elevation')?.role).toBe('elevation');
    expect(yieldColumn('Swath width')).toBeUndefined();
  });
});
