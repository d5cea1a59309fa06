// What the shop measures in. The API speaks metric only.
let us = false;
export function setUnits(name) { us = name === 'us'; }
export const isUs = () => us;

const ML_PER_FLOZ = 29.5735295625, UM_PER_MIL = 25.4, M3_PER_FT3 = 0.028316846592, KG_PER_LB = 0.45359237, MM_PER_IN = 25.4;
const some = (value, digits) => Number(value.toFixed(digits)).toString();

export const temp = (c) => (c === null || c === undefined ? 'no temperature' : us ? `${some(c * 1.8 + 32, 0)} °F` : `${some(c, 1)} °C`);
export const tempGap = (c) => (us ? `${some(c * 1.8, 0)} °F` : `${some(c, 1)} °C`);
export const humidity = (pct) => (pct === null || pct === undefined ? 'no humidity' : `${some(pct, 0)} %`);
export const airText = (air) => (air && air.temp_c !== null ? `${temp(air.temp_c)}, ${humidity(air.rh_pct)}` : 'no air known');

export const tempUnit = () => (us ? '°F' : '°C');
export const tempToC = (n) => (us ? (n - 32) / 1.8 : n);
export const tempFromC = (c) => Number((us ? c * 1.8 + 32 : c).toFixed(1));
export const amountUnit = () => (us ? 'fl oz' : 'ml');
export const amountToMl = (n) => (us ? n * ML_PER_FLOZ : n);
export const amount = (ml) => (us ? `${some(ml / ML_PER_FLOZ, 1)} fl oz` : `${some(ml, 0)} ml`);
export const filmUnit = () => (us ? 'mil' : 'µm');
export const filmToUm = (n) => (us ? n * UM_PER_MIL : n);
export const film = (um) => (us ? `${some(um / UM_PER_MIL, 1)} mil` : `${some(um, 0)} µm`);
export const roomUnit = () => (us ? 'ft³' : 'm³');
export const roomToM3 = (n) => (us ? n * M3_PER_FT3 : n);
export const roomFromM3 = (m3) => (us ? m3 / M3_PER_FT3 : m3);
export const massUnit = () => (us ? 'lb' : 'kg');
export const massToKg = (n) => (us ? n * KG_PER_LB : n);
export const mass = (kg) => `${some(us ? kg / KG_PER_LB : kg, 1)} ${massUnit()}`;
export const wall = (mm) => `${some(us ? mm / MM_PER_IN : mm, us ? 2 : 1)} ${wallUnit()}`;
export const wallUnit = () => (us ? 'in' : 'mm');
export const wallToMm = (n) => (us ? n * MM_PER_IN : n);

// Magnus form, only for drawing the ribbon between readings; the figure in words is the daemon's.
export function dewPoint(tempC, rhPct) {
  const g = Math.log(Math.max(1, rhPct) / 100) + (17.62 * tempC) / (243.12 + tempC);
  return (243.12 * g) / (17.62 - g);
}
