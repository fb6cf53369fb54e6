import { language } from '../../model/words';

/** Says a sentence with the voice of the system, in the language of the page; a newer sentence replaces it. */
export function speak(sentence: string): void {
  if (!('speechSynthesis' in globalThis)) return;
  speechSynthesis.cancel();
  const said = new SpeechSynthesisUtterance(sentence);
  said.lang = language.value;
  speechSynthesis.speak(said);
}
