import { toSVG } from 'bwip-js/generic';

/** Paper under the bars, so that they can be scanned from a dark page too. */
const WHITE = 'FFFFFF';

/**
 * A QR code (ISO/IEC 18004) as SVG, two units a module, the margin of four modules included. Error correction Q or better:
 * it is read with a quarter of its codewords spoilt by dirt.
 * @param text what a scanner gives back
 */
export function qrSvg(text: string): string {
  const options = { bcid: 'qrcode', text, eclevel: 'Q', scale: 1, padding: 8, backgroundcolor: WHITE };
  return toSVG(options).trim();
}

/**
 * Code 128 (ISO/IEC 15417) as SVG, one unit a module, margins of ten modules included; no text under the bars.
 * @param text what a scanner gives back, in ASCII
 * @param heightMm height of the bars when a module is 0.35 mm (1/72 in) wide
 */
export const code128Svg = (text: string, heightMm = 10): string =>
  toSVG({
    bcid: 'code128',
    text,
    scale: 1,
    height: heightMm,
    paddingwidth: 10,
    paddingheight: 0,
    backgroundcolor: WHITE,
  }).trim();
