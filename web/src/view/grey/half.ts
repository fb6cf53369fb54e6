/** Bits of the half-precision number nearest below a whole number of at most 65504 in size. */
function halfBits(value: number, float: Float32Array, bits: Uint32Array): number {
  float[0] = value;
  const whole = bits[0] ?? 0;
  const exponent = ((whole >>> 23) & 255) - 112;
  const sign = (whole >>> 16) & 0x8000;
  return exponent <= 0 ? sign : sign | (exponent << 10) | ((whole >>> 13) & 0x3ff);
}

/** Grey values as half-precision numbers about `middle`; whole numbers up to 2048 from it are exact. */
export interface HalfBrick {
  middle: number;
  values: Uint16Array;
}

/**
 * Grey values for a texture that the card can interpolate. Half precision holds whole numbers exactly up to 2048, so
 * the values are taken about the middle of their range: 12-bit scans lose nothing, a wider range at most 1 in 2048.
 */
export function halfBrick(values: Int16Array): HalfBrick {
  let low = 32767;
  let high = -32768;
  for (let i = 0; i < values.length; i++) {
    const v = values[i] as number;
    if (v < low) low = v;
    if (v > high) high = v;
  }
  const middle = values.length > 0 ? Math.round((low + high) / 2) : 0;
  const float = new Float32Array(1);
  const bits = new Uint32Array(float.buffer);
  const table = new Uint16Array(Math.max(1, high - low + 1));
  for (let i = 0; i < table.length; i++) table[i] = halfBits(low + i - middle, float, bits);
  const halves = new Uint16Array(values.length);
  for (let i = 0; i < values.length; i++) halves[i] = table[(values[i] as number) - low] as number;
  return { middle, values: halves };
}
