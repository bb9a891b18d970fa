import {
  CAO_PER_CA,
  K2O_PER_K,
  kgPerHaToPpm,
  lbPerAcToPpm,
  MG_PER_KG_PER_CMOL,
  MGO_PER_MG,
  P2O5_PER_P,
} from '../units/index.ts';
import { unitLabel, type Oxide } from './unitText.ts';

/** One soil measure the tool knows: its names in the trade, its units and what values can be real. */
export interface CatalogueAnalyte {
  readonly id: string;
  readonly label: string;
  /** Unit of all values inside the tool. */
  readonly unit: string;
  /** The same unit as the trade writes it on a report: `ppm` for mg/kg. */
  readonly shownUnit: string;
  /** Header words, joined and in lower case, that name it (see `parseHeader`). */
  readonly names: readonly string[];
  /** Units it is accepted in, each with the factor to `unit`. */
  readonly units: Readonly<Record<string, number>>;
  /** Unit taken when the header names none. */
  readonly assumedUnit: string;
  /** Values outside cannot be real; wide on purpose (judgement of this project). */
  readonly plausible: readonly [low: number, high: number];
}

/** Amounts by mass, each with its factor to mg/kg. mg/L of scooped soil is taken as mg/kg: common practice, no source. */
const MASS: Readonly<Record<string, number>> = {
  ppm: 1,
  'mg/kg': 1,
  'mg/L': 1,
  'mg/100 g': 10,
  'g/kg': 1000,
  'lb/ac': lbPerAcToPpm(1),
  'kg/ha': kgPerHaToPpm(1),
};
const SHARE: Readonly<Record<string, number>> = { '%': 1, 'g/kg': 0.1 };
const CHARGE: Readonly<Record<string, number>> = { 'meq/100 g': 1, 'cmol(+)/kg': 1, 'mmol(+)/kg': 0.1 };
const PH: Readonly<Record<string, number>> = { pH: 1 };

function asOxide(oxide: Oxide, perElement: number): Record<string, number> {
  return Object.fromEntries(
    Object.entries(MASS).map(([unit, factor]) => [unitLabel(unit, oxide), factor / perElement]),
  );
}

function asCharge(mgPerKgPerCmol: number): Record<string, number> {
  return Object.fromEntries(Object.entries(CHARGE).map(([unit, factor]) => [unit, factor * mgPerKgPerCmol]));
}

function nutrient(
  id: string,
  label: string,
  names: string,
  highest: number,
  extraUnits: Readonly<Record<string, number>> = {},
): CatalogueAnalyte {
  return {
    id,
    label,
    unit: 'mg/kg',
    shownUnit: 'ppm',
    names: names.split(' '),
    units: { ...MASS, ...extraUnits },
    assumedUnit: 'ppm',
    plausible: [0, highest],
  };
}

/** The measures the tool knows, in the order they are shown. */
export const analyteCatalogue: readonly CatalogueAnalyte[] = [
  nutrient(
    'P',
    'Phosphorus',
    'p phos phosphorus phosphorous phosphate stp pbray polsen',
    5000,
    asOxide('P2O5', P2O5_PER_P),
  ),
  nutrient('K', 'Potassium', 'k pot potassium potash stk', 20_000, {
    ...asOxide('K2O', K2O_PER_K),
    ...asCharge(MG_PER_KG_PER_CMOL.K),
  }),
  {
    id: 'pH',
    label: 'pH',
    unit: 'pH',
    shownUnit: '',
    names: ['ph', 'phw', 'wph', 'phs', 'sph'],
    units: PH,
    assumedUnit: 'pH',
    plausible: [2, 11],
  },
  {
    id: 'bufferPH',
    label: 'Buffer pH',
    unit: 'pH',
    shownUnit: '',
    names:
      'bph phb bufferph phbuffer bufph phbuf buffer buf smp smpph phsmp sikora sikoraph smpbuffer smpbufferph sikorabuffer sikorabufferph bufferphsikora bufferphsmp'.split(
        ' ',
      ),
    units: PH,
    assumedUnit: 'pH',
    plausible: [3, 9],
  },
  {
    id: 'OM',
    label: 'Organic matter',
    unit: '%',
    shownUnit: '%',
    names: 'om som organicmatter orgmatter orgmat omloi loi ompct humus'.split(' '),
    units: SHARE,
    assumedUnit: '%',
    plausible: [0, 100],
  },
  {
    id: 'CEC',
    label: 'Cation exchange capacity',
    unit: 'cmol(+)/kg',
    shownUnit: 'meq/100 g',
    names: 'cec ecec cationexchangecapacity cationexchange cationexchcapacity'.split(' '),
    units: CHARGE,
    assumedUnit: 'meq/100 g',
    plausible: [0, 250],
  },
  nutrient('Ca', 'Calcium', 'ca calc calcium', 100_000, {
    ...asOxide('CaO', CAO_PER_CA),
    ...asCharge(MG_PER_KG_PER_CMOL.Ca),
  }),
  nutrient('Mg', 'Magnesium', 'mg mag magn magnesium', 50_000, {
    ...asOxide('MgO', MGO_PER_MG),
    ...asCharge(MG_PER_KG_PER_CMOL.Mg),
  }),
  nutrient('S', 'Sulfur', 's sulfur sulphur sulf sulfate sulphate so4 so4s sulfates sulphates', 50_000),
  nutrient('Zn', 'Zinc', 'zn zinc', 50_000),
  nutrient('nitrate', 'Nitrate-N', 'no3 no3n nitrate nitraten nitratenitrogen nno3', 5000),
  nutrient('Mn', 'Manganese', 'mn mang manganese', 50_000),
  nutrient('Cu', 'Copper', 'cu copper', 50_000),
  nutrient('Fe', 'Iron', 'fe iron', 200_000),
  nutrient('B', 'Boron', 'b boron', 1000),
  nutrient('Na', 'Sodium', 'na sodium', 100_000, asCharge(MG_PER_KG_PER_CMOL.Na)),
  {
    // A bare `ec` may as well be a sensor's apparent conductivity: taken as it is, among the other measures below.
    id: 'EC',
    label: 'Soluble salts (EC)',
    unit: 'dS/m',
    shownUnit: 'dS/m',
    // dS/m, mmho/cm and mS/cm are one and the same; `parseHeader` drops the `cm`, and `salt` from soluble salt.
    names: [
      'solublesalts',
      'soluble',
      ...['ec', 'solublesalts', 'soluble', 'salts', 'salinity', 'electricalconductivity'].flatMap((name) =>
        ['dsm', 'mmho', 'mmhos', 'ms'].map((unit) => name + unit),
      ),
    ],
    units: { 'dS/m': 1 },
    assumedUnit: 'dS/m',
    plausible: [0, 60],
  },
  {
    id: 'clay',
    label: 'Clay',
    unit: '%',
    shownUnit: '%',
    names: ['clay', 'pclay', 'claycontent', 'claypct'],
    units: SHARE,
    assumedUnit: '%',
    plausible: [0, 100],
  },
];

/** The catalogue's entry for an id, in any case; undefined when the tool doesn't know it. */
export function findAnalyte(id: string): CatalogueAnalyte | undefined {
  const wanted = id.trim().toLowerCase();
  return analyteCatalogue.find((a) => a.id.toLowerCase() === wanted);
}

/** How a unit is shown to people: `ppm` for mg/kg, `meq/100 g` for cmol(+)/kg, nothing for pH. */
export function shownUnit(unit: string): string {
  if (unit === 'mg/kg') return 'ppm';
  if (unit === 'cmol(+)/kg') return 'meq/100 g';
  return unit === 'pH' ? '' : unit;
}

/** Other soil measures taken under their own header when a file has them: trace elements, texture, nitrogen, carbon. */
export const otherSoilMeasures: ReadonlySet<string> = new Set(
  (
    'cadmium lead nickel chromium arsenic mercury aluminium aluminum molybdenum selenium cobalt silicon vanadium ' +
    'chloride fluoride lithium strontium barium sand silt nitrogen totalnitrogen totaln tn tkn nh4 nh4n ammonium ' +
    'ammoniumn totalphosphorus totalp carbon organiccarbon totalcarbon totalorganiccarbon oc soc toc orgc ' +
    'ec salts salinity electricalconductivity sar bulkdensity carbonate calciumcarbonate caco3'
  ).split(' '),
);
