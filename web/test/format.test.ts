import { describe, expect, it } from 'vitest';
import { depth, deviation, fixed, plusMinus, probability, rough, stopSetting, strain, width } from '../src/model/format';

describe('numbers as shown', () => {
  it('carry their unit and fixed digits', () => {
    expect(depth(20.04)).toBe('20.0\u202fmm');
    expect(width(0.318)).toBe('0.32\u202fmm');
    expect(strain(0.0187)).toBe('1.9\u202f%');
  });

  it('never round a stop setting up', () => {
    expect(stopSetting(20.75)).toBe('20.75\u202fmm');
    expect(stopSetting(20.759)).toBe('20.75\u202fmm');
    expect(stopSetting(17)).toBe('17.00\u202fmm');
  });

  it('use a real minus sign and never a negative zero', () => {
    expect(fixed(-1.26, 1)).toBe('\u22121.3');
    expect(fixed(-0.01, 1)).toBe('0.0');
  });

  it('never round a standard deviation to nothing', () => {
    expect(plusMinus(0.29, 0.002, 2, 'mm')).toBe('0.29 ± <\u202f0.01\u202fmm');
    expect(plusMinus(20.4, 0.14, 1, 'mm')).toBe('20.4 ± 0.1\u202fmm');
    expect(plusMinus(20.4, undefined, 1, 'mm')).toBe('20.4\u202fmm');
    expect(deviation(0.3, 0)).toBe('± <\u202f1');
  });

  it('say a missing number as a dash', () => expect(fixed(Number.NaN, 2)).toBe('–'));

  it('never call a probability certain', () => {
    expect(probability(1)).toBe('>\u202f99\u202f%');
    expect(probability(0.91)).toBe('91\u202f%');
    expect(probability(0)).toBe('<\u202f1\u202f%');
  });

  it('keep two digits of a rough count', () => {
    expect(rough(1534)).toBe('1\u202f500');
    expect(rough(7)).toBe('7');
    expect(rough(187)).toBe('190');
  });
});
