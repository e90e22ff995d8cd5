export { h, render, Fragment, createContext } from "preact";
export {
  useEffect,
  useLayoutEffect,
  useRef,
  useState,
  useMemo,
  useCallback,
  useContext,
  useErrorBoundary,
} from "preact/hooks";
export {
  signal,
  computed,
  effect,
  batch,
  useSignal,
  useComputed,
  useSignalEffect,
} from "@preact/signals";
export { html } from "htm/preact";
export type { ComponentChildren, ComponentType, VNode, JSX, RefObject } from "preact";
export type { Signal, ReadonlySignal } from "@preact/signals";
