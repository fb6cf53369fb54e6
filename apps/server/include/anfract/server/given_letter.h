#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "anfract/record/record.h"
#include "anfract/report/letter.h"

namespace anfract::server {

/// A text of a part of the notes of a case; empty where they are silent.
std::string text_in(const nlohmann::json& notes, const std::string& part, const std::string& key);

/// A letter with patient, referrer and date as the notes of a case have them; what they leave open
/// stays as it is. @param language  "en" or "de", of the word before the date of birth
Letter addressed_letter(Letter letter, const nlohmann::json& notes, const std::string& language);

/// Keeps a letter with its case, as given out now to the first line of the address, or to the
/// patient where the letter is theirs.
/// @param kind  letter, leaflet or discharge  @param bytes  a PDF, or HTML
/// Errors: those of sent_letter and of the record.
Result<void> keep_given_letter(const record::Record& record, const std::string& case_id,
                               const std::string& kind, const Letter& letter,
                               const std::string& bytes, const std::string& author);

}  // namespace anfract::server
