/** Pictures for the walks. */

/** A JPEG of 1 × 1 pixel, with a comment of 14 bytes. */
export const JPEG = Buffer.from(
  '/9j/4AAQSkZJRgABAQAAAQABAAD//gAPdGFrZW4gYXQgaG9tZf/bAEMAAwICAgICAwICAgMDAwMEBgQEBAQECAYGBQYJCAoKCQgJCQoMDwwKCw4LCQkNEQ0ODxAQERAKDBITEhATDxAQEP/AAAsIAAEAAQEBEQD/xAAUAAEAAAAAAAAAAAAAAAAAAAAJ/8QAFBABAAAAAAAAAAAAAAAAAAAAAP/aAAgBAQAAPwBUH//Z',
  'base64',
);

/** Chooses the picture among the photos of what is shown, and keeps it. */
export async function keepPicture(inside, name) {
  await inside.locator('input[type=file][multiple]').setInputFiles({ name, mimeType: 'image/jpeg', buffer: JPEG });
  await inside.getByRole('button', { name: 'Keep the photo' }).click();
  await inside.locator('.photos img').first().waitFor();
}
