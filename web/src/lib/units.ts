import { signal } from "@preact/signals";

/** Words of the reader's units. Figures come converted from the program; scale and offset are for drawn ends given in °C. */
export type Units = { system: "metric" | "us"; degree: string; step: string; scale: number; offset: number; power: string; mass: string; mass_flow: string; air_pressure: string; height: string; speed: string };
export const METRIC: Units = { system: "metric", degree: "°C", step: "K", scale: 1, offset: 0, power: "kW", mass: "kg", mass_flow: "kg/s", air_pressure: "Pa", height: "mm", speed: "km/h" };
export const units = signal<Units>(METRIC);
/** What the page asks for; the words follow with the reply. */
export const wanted = signal<"metric" | "us">(localStorage.getItem("units") === "us" ? "us" : "metric");

export const U = {
  get us() { return units.value.system === "us"; },
  get degree() { return units.value.degree; },
  get step() { return units.value.step; },
  get scale() { return units.value.scale; },
  get power() { return units.value.power; },
  get mass() { return units.value.mass; },
  get mass_flow() { return units.value.mass_flow; },
  get air_pressure() { return units.value.air_pressure; },
  get height() { return units.value.height; },
  get speed() { return units.value.speed; },
  T: (celsius: number) => units.value.scale * celsius + units.value.offset,
};
