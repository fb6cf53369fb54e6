import { t, toothName, toothNumber } from '../model/words';

/** The 32 permanent teeth as a dentist faces them: the patient's right on the left, uppers above. */
const ROWS = [
  ['18', '17', '16', '15', '14', '13', '12', '11', '21', '22', '23', '24', '25', '26', '27', '28'],
  ['48', '47', '46', '45', '44', '43', '42', '41', '31', '32', '33', '34', '35', '36', '37', '38'],
] as const;

export function ToothNumbers({ value, choose }: { value: string | null; choose: (fdi: string) => void }) {
  return (
    <div class="numbers" role="radiogroup" aria-label={t('locate.step2')}>
      {ROWS.map((row, i) => (
        <div class="arch" key={i}>
          {row.map((fdi) => (
            <label key={fdi} title={toothName(fdi)}>
              <input type="radio" name="fdi" value={fdi} checked={fdi === value} aria-label={`${toothNumber(fdi)}, ${toothName(fdi)}`} onChange={() => choose(fdi)} />
              <span aria-hidden="true">{toothNumber(fdi)}</span>
            </label>
          ))}
        </div>
      ))}
      <p class="soft" aria-live="polite">
        {value === null ? '\u00a0' : toothName(value)}
      </p>
    </div>
  );
}
