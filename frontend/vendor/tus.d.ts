export { Upload, type HttpRequest, type DetailedError } from "tus-js-client";
