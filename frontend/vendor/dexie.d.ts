export { Dexie as default, liveQuery } from "dexie";
export type { EntityTable, Table, Transaction } from "dexie";
