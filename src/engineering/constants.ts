/** Standard acceleration of free fall, m/s2, exact (3rd CGPM 1901; NIST SP 811 appendix B). */
export const STANDARD_GRAVITY = 9.80665;

/** 0 degC in kelvin, exact (SI Brochure, 9th edition). */
export const ICE_POINT_K = 273.15;

/** The temperature to which conductivities and purifier outputs are commonly referred, degC. */
export const REFERENCE_TEMPERATURE_C = 25;
