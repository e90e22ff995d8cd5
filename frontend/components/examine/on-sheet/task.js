/** What is done on a photograph over the whole screen: it is placed, measured on, or drawn on. */

import { html } from "../../../vendor/ui.js";
import { DrawOutline } from "./draw-outline.js";
import { Measure } from "./measure.js";
import { PlacePhotograph } from "./place-photograph.js";

/** @import { ObservationRow, PhotographRow } from "../../../store/types.js" */
/** @import { Held, Task } from "../held.js" */

/**
 * @param {object} props
 * @param {Held} props.held
 * @param {PhotographRow} props.photograph
 * @param {ObservationRow | null} props.observation  in hand
 * @param {Task} props.task
 * @param {() => void} props.onDone
 */
export function PhotographTask({ held, photograph, observation, task, onDone }) {
  if (task.do === "measure") {
    return html`<${Measure}
      held=${held}
      photograph=${photograph}
      observation=${observation?.id ?? null}
      onDone=${onDone}
    />`;
  }
  if (task.do === "outline" && observation) {
    return html`<${DrawOutline}
      held=${held}
      photograph=${photograph}
      observation=${observation}
      onDone=${onDone}
    />`;
  }
  return html`<${PlacePhotograph}
    held=${held}
    photograph=${photograph}
    by=${task.do === "scale" ? "scale" : "corners"}
    from=${held.photographs.value.find(({ id }) => id === task.from) ?? null}
    onDone=${onDone}
  />`;
}
