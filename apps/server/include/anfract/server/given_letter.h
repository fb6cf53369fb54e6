#pragma once

#include <string>

#include "anfract/record/record.h"
#include "anfract/report/letter.h"

namespace anfract::server {

/// Keeps a letter with its case, as given out now to the first line of the address, or to the
/// patient where the letter is theirs.
/// @param kind  letter, leaflet or discharge  @param bytes  a PDF, or HTML
/// Errors: those of sent_letter and of the record.
Result<void> keep_given_letter(const record::Record& record, const std::string& case_id,
                               const std::string& kind, const Letter& letter,
                               const std::string& bytes, const std::string& author);

}  // namespace anfract::server
