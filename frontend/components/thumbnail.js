/** A photograph, small, on neutral grey. */

import { db } from "../store/database.js";
import { useLive } from "../store/live.js";
import { fetchThumbnail } from "../store/pictures.js";
import { html, useEffect, useState } from "../vendor/ui.js";

/** @param {{sha256: string, alt: string}} props */
export function Thumbnail({ sha256, alt }) {
  const kept = useLive(
    async () => (await db.thumbnails.get(sha256)) ?? null,
    [sha256],
    /** @type {import("../store/types.js").Thumbnail | null | undefined} */ (undefined),
  );
  useEffect(() => {
    if (kept === null) fetchThumbnail(sha256);
  }, [kept, sha256]);
  const url = useBlobUrl(kept?.blob ?? null);
  return html`<span class="thumbnail">
    ${url
      ? html`<img src=${url} alt=${alt} decoding="async" />`
      : html`<span class="thumbnail-missing">
          ${kept === null && `${alt}: no picture to show here`}
        </span>`}
  </span>`;
}

/** An address for a blob, given back to the browser when it is no longer shown. */
export function useBlobUrl(/** @type {Blob | null} */ blob) {
  const [url, setUrl] = useState("");
  useEffect(() => {
    const made = blob ? URL.createObjectURL(blob) : "";
    setUrl(made);
    return () => URL.revokeObjectURL(made);
  }, [blob]);
  return url;
}
