export { makeZip } from "client-zip";
