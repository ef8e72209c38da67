// Numbers in sentences.
export const litres = (value: number): string => `${value.toFixed(value < 10 ? 1 : 0)} L`;
export const percent = (share: number, digits = 1): string => `${(100 * share).toFixed(digits)} %`;
export const degC = (value: number): string => `${Number(value.toFixed(1))} degC`;
export const lpm = (value: number): string => `${value.toFixed(value < 1 ? 2 : 1)} L/min`;
export const perDay = (value: number): string => `${value.toFixed(0)} L/d`;
export const metres = (value: number): string => `${value.toFixed(2)} m`;
export const days = (value: number): string => `${Number(value.toFixed(value < 10 ? 1 : 0))} d`;
/** `20 kg`, `6.8 kg`: as it stands on a bag. */
export const kilograms = (value: number): string => `${Number(value.toPrecision(3))} kg`;
export const kwh = (value: number): string => `${value.toFixed(1)} kWh`;
export const mgPerL = (value: number): string => `${value.toFixed(value < 1 ? 3 : 1)} mg/L`;

/** `1 batch`, `2 batches`. */
export function counted(count: number, one: string, many = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`;
}
