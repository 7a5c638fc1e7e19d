import type { NewPerson } from "../../../web-client/src/api/shapes";

/** Somebody whose password the tests know. */
export type Staff = NewPerson & { password: string };

/** The shop of the tests and who works in it. All invented. */
export const SHOP = "Brass at the Harbour";

export const MARTA = { name: "Marta Vidal", initials: "MV", email: "marta@harbour.example", roles: ["proprietor"], password: "seven brass bells" } satisfies Staff;
export const INES = { name: "Ines Couto", initials: "IC", email: "ines@harbour.example", roles: ["technician", "front_desk"], password: "quiet felt hammer" } satisfies Staff;
export const TOMAS = { name: "Tomas Iveland", initials: "TI", email: "tomas@harbour.example", roles: ["technician"], password: "long slide grease" } satisfies Staff;
export const RUI = { name: "Rui Pires", initials: "RP", email: "rui@harbour.example", roles: ["front_desk"], password: "counter bell rings" } satisfies Staff;
