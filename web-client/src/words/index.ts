import { en, type Words } from "./en";

/** The words in use. A further language is a further file with the same entries. */
export const words: Words = en;
