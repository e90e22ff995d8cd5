/** The sheet view's style sheet, fetched when a view is first opened. */

const ADDRESS = "/field/components/sheet-view/sheet-view.css";

/** @type {Promise<void> | null} */
let coming = null;

/** Resolves when it applies, or cannot be had: the view then shows plainly. */
export function styled() {
  coming ??= new Promise((resolve) => {
    const link = document.createElement("link");
    link.rel = "stylesheet";
    link.href = ADDRESS;
    link.onload = () => resolve();
    link.onerror = () => {
      link.remove();
      coming = null;
      resolve();
    };
    document.head.append(link);
  });
  return coming;
}
