/** The link of an invitation, and the camera that reads it. */

export interface Invitation {
  readonly url: string;
  readonly code: string;
  /** The authority that vouches for the hub, by its fingerprint; a program can hold the connection to it. */
  readonly authority: string | null;
}

/** What a link says: where the hub is and its digits. A bare address has none. */
export function linkOf(text: string): Invitation {
  const [address = '', said = ''] = text.trim().split('#');
  const params = new URLSearchParams(said);
  return {
    url: address.replace(/\/+$/, ''),
    code: params.get('pair') ?? '',
    authority: params.get('authority'),
  };
}

/** Whether there is a camera to look through; else digits are typed, or the phone's own camera opens the link. */
export function scans(): boolean {
  return 'mediaDevices' in navigator;
}

/** Looks through the camera until it sees a link. */
export async function scan(video: () => HTMLVideoElement | undefined, signal: AbortSignal): Promise<string> {
  // The same reader everywhere: few browsers bring one of their own.
  const { BarcodeDetector } = await import('qr/decode.js');
  const reads = new BarcodeDetector({ formats: ['qr_code'] });
  const camera = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } });
  try {
    while (!signal.aborted) {
      const shown = video();
      if (shown && shown.srcObject !== camera) shown.srcObject = camera;
      const [seen] = shown && shown.readyState >= 2 ? await reads.detect(shown) : [];
      if (seen && linkOf(seen.rawValue).code) return seen.rawValue;
      await new Promise((done) => setTimeout(done, 150));
    }
    throw new Error('stopped');
  } finally {
    camera.getTracks().forEach((track) => track.stop());
  }
}
