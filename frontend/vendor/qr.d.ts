export { default } from "jsqr";
