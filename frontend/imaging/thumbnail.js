/** Makes the small picture that stands for a photograph on the tablet. */

export const THUMBNAIL_PX = 400;

const QUALITY = 0.8;

/**
 * A JPEG of at most 400 × 400 pixels, turned the way the file asks for.
 *
 * @param {Blob} file
 * @returns {Promise<Blob | null>}  null when this browser cannot decode the file
 */
export async function thumbnail(file) {
  let picture;
  try {
    // The browser scales while it decodes, which keeps a large photograph out of memory. The
    // turn decides which side is the longer one, so the height is fitted afterwards.
    picture = await createImageBitmap(file, {
      imageOrientation: "from-image",
      resizeWidth: THUMBNAIL_PX,
      resizeQuality: "medium",
    });
  } catch {
    return null;
  }
  const share = Math.min(1, THUMBNAIL_PX / picture.height);
  const canvas = new OffscreenCanvas(
    Math.max(1, Math.round(picture.width * share)),
    Math.max(1, Math.round(picture.height * share)),
  );
  const context = canvas.getContext("2d");
  // A transparent picture is shown on the grey that surrounds every photograph.
  if (!context) return null;
  context.fillStyle = "#969696";
  context.fillRect(0, 0, canvas.width, canvas.height);
  context.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return canvas.convertToBlob({ type: "image/jpeg", quality: QUALITY });
}
