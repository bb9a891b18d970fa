/** One number behind a rate that the user may change, in the unit of its source. */
export interface EditableFigure {
  /** Stable name that an edit is given by, such as `P.critical` or `corn.yield`. */
  readonly key: string;
  readonly label: string;
  /** In use: the user's, or the usual one. */
  readonly value: number;
  /** Without the user's edit. */
  readonly usual: number;
  readonly unit: string;
  /** Values outside are refused; `least` itself is refused too where `above` is set. */
  readonly least: number;
  readonly most: number;
  readonly above: boolean;
  readonly source: string;
}

export interface FigureOffer {
  readonly key: string;
  readonly label: string;
  readonly value: number;
  readonly unit: string;
  readonly source: string;
  /** At least this (default 0). */
  readonly least?: number;
  /** More than this, instead of `least`. */
  readonly above?: number;
  readonly most?: number;
}

/** Collects the figures of one case as they are taken into use. */
export interface FigureLedger {
  /** The figure's value, edited or not; noted for the user. */
  readonly take: (offer: FigureOffer) => number;
  readonly figures: readonly EditableFigure[];
  /** A sentence for each edit that could not be used. */
  readonly refused: readonly string[];
}

/** @param edits by key, in the figures' units; keys of no figure are left alone, since other cases may have them */
export function figureLedger(edits: Readonly<Record<string, number>>): FigureLedger {
  const figures: EditableFigure[] = [];
  const refused: string[] = [];
  return {
    figures,
    refused,
    take({ key, label, value: usual, unit, source, least, above, most = Infinity }) {
      const low = above ?? least ?? 0;
      const edit = Object.hasOwn(edits, key) ? edits[key] : undefined;
      const fits =
        edit !== undefined &&
        Number.isFinite(edit) &&
        edit <= most &&
        (above === undefined ? edit >= low : edit > low);
      if (edit !== undefined && !fits)
        refused.push(
          `${label} cannot be ${edit}: give ${above === undefined ? 'at least' : 'more than'} ${low}` +
            `${most < Infinity ? ` and at most ${most}` : ''}; ${shown(usual, unit)} stands.`,
        );
      const value = fits ? edit : usual;
      figures.push({
        key,
        label,
        value,
        usual,
        unit,
        least: low,
        most,
        above: above !== undefined,
        source: value === usual ? source : `set by the user; before: ${shown(usual, unit)}, ${source}`,
      });
      return value;
    },
  };
}

/** `15 ppm`, to four figures. */
export function shown(value: number, unit: string): string {
  return `${Number(value.toPrecision(4))} ${unit}`.trim();
}
