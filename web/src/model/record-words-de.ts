import type { Pairs } from './said';

/** What follows from the record of a case, in German, without full stops; see `said.ts`. */
export const RECORD_GERMAN: Pairs = [
  // Another patient
  [
    'The scan names another patient than the notes: {d1}, not {d2}. Check whose scan this is before anything is done or given out',
    'Die Aufnahme nennt eine andere Person als die Akte: {d1}, nicht {d2}. Prüfen, wessen Aufnahme das ist, bevor etwas getan oder herausgegeben wird',
  ],
  [
    'The scan gives another date of birth than the notes: {d1}, not {d2}. Check whose scan this is before anything is done or given out',
    'Die Aufnahme nennt ein anderes Geburtsdatum als die Akte: {d1}, nicht {d2}. Prüfen, wessen Aufnahme das ist, bevor etwas getan oder herausgegeben wird',
  ],

  // What to speak of before the patient consents
  ['An instrument can break in the canal and may have to stay there', 'Ein Instrument kann im Kanal brechen und muss vielleicht dort bleiben'],
  ['It may not be possible to follow the canal to its end', 'Vielleicht lässt sich dem Kanal nicht bis zu seinem Ende folgen'],
  ['The root can be perforated where its wall is thin', 'Die Wurzel kann perforiert werden, wo ihre Wand dünn ist'],
  ['Rinsing solution or filling can pass the end of the root', 'Spülung oder Füllung können über das Wurzelende hinaustreten'],
  ['A canal may not be found, or not be there; more treatment can follow', 'Ein Kanal wird vielleicht nicht gefunden oder ist nicht da; eine weitere Behandlung kann folgen'],
  ['A nerve of the lower jaw can be irritated; numbness can follow', 'Ein Nerv des Unterkiefers kann gereizt werden; Taubheit kann folgen'],
  ['The maxillary sinus can be opened or irritated', 'Die Kieferhöhle kann eröffnet oder gereizt werden'],
  ['The treatment is difficult and can take several visits', 'Die Behandlung ist schwierig und kann mehrere Termine dauern'],
  ['Pain and swelling can follow a visit; say whom to call', 'Nach einem Termin können Schmerz und Schwellung folgen; sagen, wen man anruft'],
  ['The treatment can fail, also years later; the tooth may then need another treatment or be lost', 'Die Behandlung kann misslingen, auch Jahre später; der Zahn braucht dann vielleicht eine weitere Behandlung oder geht verloren'],
  ['The tooth needs a tight and lasting restoration soon afterwards', 'Der Zahn braucht bald danach eine dichte und dauerhafte Versorgung'],
  ['The other ways, with their risks: no treatment, extraction, surgery', 'Die anderen Wege mit ihren Risiken: keine Behandlung, Entfernen des Zahns, ein chirurgischer Eingriff'],

  // Why
  ['canal {d1} bends by {2} degrees and twice, in an S', 'Kanal {d1} biegt sich um {2} Grad und zweimal, als S'],
  ['canal {d1} bends by {2} degrees', 'Kanal {d1} biegt sich um {2} Grad'],
  ['canal {d1} is {2} wide near its end', 'Kanal {d1} ist nahe seinem Ende {2} weit'],
  ['canal {d1} is there with a probability of {2}', 'Kanal {d1} ist mit einer Wahrscheinlichkeit von {2} da'],
  ['beside canal {d1} it is {2} thick at {3} depth', 'neben Kanal {d1} ist sie in {3} Tiefe {2} dick'],
  ['tooth {1} stands above it', 'Zahn {1} steht darüber'],
  ['tooth {1} stands below it', 'Zahn {1} steht darunter'],
  ['the difficulty of this tooth is high', 'die Schwierigkeit dieses Zahns ist hoch'],
  ['every root canal treatment', 'jede Wurzelkanalbehandlung'],

  // Codes
  ['Reversible pulpitis', 'Reversible Pulpitis'],
  ['Irreversible pulpitis', 'Irreversible Pulpitis'],
  ['Necrosis of pulp', 'Pulpanekrose'],
  ['Acute apical periodontitis', 'Akute apikale Parodontitis'],
  ['Chronic apical periodontitis', 'Chronische apikale Parodontitis'],
  ['Periapical abscess with sinus', 'Periapikaler Abszess mit Fistel'],
  ['Periapical abscess without sinus', 'Periapikaler Abszess ohne Fistel'],

  // Recalls
  ['favourable', 'günstig'],
  ['uncertain', 'ungewiss'],
  ['unfavourable', 'ungünstig'],
  ['not known', 'nicht bekannt'],
  ['normal periapical structures', 'normale periapikale Strukturen'],
  ['small changes in bone structure', 'kleine Veränderungen der Knochenstruktur'],
  ['changes in bone structure with some mineral loss', 'Veränderungen der Knochenstruktur mit etwas Mineralverlust'],
  ['periodontitis with a well-defined radiolucent area', 'Parodontitis mit einer gut begrenzten Aufhellung'],
  ['severe periodontitis with exacerbating features', 'schwere Parodontitis mit Zeichen der Verschlimmerung'],
];
