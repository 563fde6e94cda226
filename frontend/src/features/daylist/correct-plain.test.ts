import { describe, expect, it } from "vitest";
import { deskOf, id, stockOf } from "../../app/form/testing.ts";
import { refusals } from "../../core/sync/validate.ts";
import { figuresIn, noPlain, planPlain } from "./correct-plain.ts";

const body = { place: id(1), readings: [{ measured_at: 1795614753321, temp_c: 6, rh_pct: 84 }], note: "by the door" };
const fields = { ...noPlain(), figures: figuresIn(body, {}), body, note: "by the door" };
const desk = () => deskOf(stockOf({}));

describe("correcting an entry without a form of its own", () => {
  it("shows the figures a person wrote, and keeps the rest", () => {
    expect(fields.figures.map(({ label, text }) => [label, text])).toEqual([
      ["Temperature (1), °C", "6"],
      ["Humidity, % (1)", "84"],
    ]);
    expect(planPlain("measured", fields, desk()).drafts[0]!.body).toEqual(body);
  });
  it("takes decimals in both ways of writing where they make sense", () => {
    const warmer = { ...fields, figures: fields.figures.map((one, i) => (i === 0 ? { ...one, text: "6,5" } : one)) };
    const drafts = planPlain("measured", warmer, desk()).drafts;
    expect(drafts[0]!.body).toHaveProperty("readings.0.temp_c", 6.5);
    expect(refusals("measured", 1, drafts[0]!.body)).toEqual([]);
  });
  it("speaks Fahrenheit and keeps Celsius, and leaves what nobody touched exactly as it was", () => {
    const cold = { place: id(1), readings: [{ measured_at: 1, temp_c: 6.37 }] };
    const figures = figuresIn(cold, {}, "f");
    expect(figures.map(({ label, text }) => [label, text])).toEqual([["Temperature (1), °F", "43.5"]]);
    const plan = (text: string) => planPlain("measured", { ...noPlain(), body: cold, figures: [{ ...figures[0]!, text }] }, desk());
    expect(plan("43.5").drafts[0]!.body).toEqual(cold);
    expect(plan("50").drafts[0]!.body).toHaveProperty("readings.0.temp_c", 10);
  });
  it("refuses half a plant", () => {
    const plants = { planting: id(2), plants: 25 };
    const half = { ...noPlain(), body: plants, figures: figuresIn(plants, {}).map((one) => ({ ...one, text: "2,5" })) };
    expect(planPlain("emerged", half, desk()).errors["figure-0"]).toContain("whole number");
  });
});
