/* What the service worker has beside a page's own names. TypeScript's library for workers
   cannot stand beside the one for pages, so the few parts in use are named here. */

/** Put before the service worker by the server: every file to carry with its integrity, and
    their joint version. */
declare const APP: { version: string; files: { [address: string]: string } };

interface LastingEvent extends Event {
  waitUntil(work: Promise<unknown>): void;
}

interface CacheRoute {
  condition: { urlPattern: { pathname: string; search: string } };
  source: { cacheName: string };
}

interface InstallEvent extends LastingEvent {
  /** Not in every browser. */
  addRoutes?(routes: CacheRoute[]): Promise<void>;
}

interface RequestEvent extends LastingEvent {
  request: Request;
  respondWith(answer: Promise<Response>): void;
}

interface ServiceWorkerScope {
  addEventListener(type: "install", run: (event: InstallEvent) => void): void;
  addEventListener(type: "activate", run: (event: LastingEvent) => void): void;
  addEventListener(type: "fetch", run: (event: RequestEvent) => void): void;
  addEventListener(type: "message", run: (event: MessageEvent) => void): void;
  clients: { claim(): Promise<void> };
  skipWaiting(): Promise<void>;
}
