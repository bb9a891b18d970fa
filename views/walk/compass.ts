/** Which way the top of the phone points, from its magnetic compass where the browser gives it. */

interface CompassEvent extends DeviceOrientationEvent {
  /** Safari: clockwise from magnetic north. */
  readonly webkitCompassHeading?: number;
}

interface AsksFirst {
  requestPermission?: () => Promise<'granted' | 'denied'>;
}

/** Follows the compass; must be called from a tap where the browser asks for leave. Without a compass nothing comes. */
export async function followCompass(onHeading: (headingDeg: number) => void): Promise<void> {
  if (typeof DeviceOrientationEvent === 'undefined') return;
  const { requestPermission } = DeviceOrientationEvent as unknown as AsksFirst;
  if (requestPermission && (await requestPermission().catch(() => 'denied')) !== 'granted') return;
  const heard = (event: Event) => {
    const { webkitCompassHeading, absolute, alpha } = event as CompassEvent;
    const raw = webkitCompassHeading ?? (absolute && alpha !== null ? 360 - alpha : undefined);
    if (raw === undefined || !Number.isFinite(raw)) return;
    const screenDeg = (screen.orientation as ScreenOrientation | undefined)?.angle ?? 0;
    onHeading((raw + screenDeg + 360) % 360);
  };
  const name = 'ondeviceorientationabsolute' in window ? 'deviceorientationabsolute' : 'deviceorientation';
  addEventListener(name, heard);
}
