/** Reading a bag's code with the camera, where the browser can. */

interface Detector {
  detect(source: HTMLVideoElement): Promise<readonly { readonly rawValue: string }[]>;
}
type DetectorClass = new (options: { readonly formats: readonly string[] }) => Detector;

const detectorClass = (): DetectorClass | undefined =>
  (globalThis as { readonly BarcodeDetector?: DetectorClass }).BarcodeDetector;

export const canScan = (): boolean =>
  detectorClass() !== undefined && typeof navigator.mediaDevices?.getUserMedia === 'function';

/** Shows the camera until a code is read or `stop` is called. @returns how to stop it */
export async function scan(video: HTMLVideoElement, onCode: (text: string) => void): Promise<() => void> {
  const Detects = detectorClass();
  if (!Detects) throw new Error('This browser reads no codes.');
  const detector = new Detects({ formats: ['qr_code', 'code_128'] });
  const stream = await navigator.mediaDevices.getUserMedia({
    video: { facingMode: 'environment' },
    audio: false,
  });
  let over = false;
  const stop = () => {
    over = true;
    for (const track of stream.getTracks()) track.stop();
    video.srcObject = null;
  };
  video.srcObject = stream;
  await video.play();
  const look = async () => {
    if (over) return;
    const [code] = await detector.detect(video).catch(() => []);
    if (code && !over) {
      stop();
      onCode(code.rawValue);
    } else setTimeout(() => void look(), 150);
  };
  void look();
  return stop;
}
