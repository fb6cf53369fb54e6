#pragma once

#include <string>

#include "anfract/report/letter.h"
#include "sheets.h"

namespace anfract {

/// Sender and date at the top; of a letter that goes to somebody also the patient and the address.
/// @param language  "en" or "de"
void write_letter_head(Sheets& sheets, const Letter& letter, const std::string& language,
                       bool addressed);

}  // namespace anfract
