#pragma once

#include "anfract/report/letter.h"
#include "record_options.h"

namespace anfract::cli {

/// A case that a letter is kept with, if the user names one.
struct KeepOptions {
    RecordOptions record;
    std::string id;
};

/// Adds --case, and where the record lies.
void add_keep_options(CLI::App& command, KeepOptions& options);

/// The letter of an anfract.letter file; without a file the plain one, or placeholders for an
/// invented case. Errors: those of read_letter.
Result<Letter> letter_from(const std::string& file, bool invented);

/// The same with date, patient and referrer as the record has them, where the file leaves them open
/// or there is none. @param language  "en" or "de"  Errors: those of read_letter and of the record.
Result<Letter> letter_of_case(const std::string& file, bool invented, const record::Record& record,
                              const std::string& id, const std::string& language);

/// letter_of_case for the case that a letter is kept with, letter_from where there is none.
/// @param kind  as give_out's, for the access trail
Result<Letter> letter_to_keep(const KeepOptions& keep, const std::string& file, bool invented,
                              const std::string& kind, const std::string& language);

/// Keeps a letter with its case, where there is one, then writes it to `out`: what was given out is
/// in the record. @param kind  letter, leaflet or discharge
Result<void> give_out(const KeepOptions& keep, const std::string& kind, const Letter& letter,
                      const std::string& bytes, const std::string& out);

}  // namespace anfract::cli
