#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "anfract/record/case_book.h"

namespace anfract::record {

/// A letter as it was given out; its bytes lie with the files of the case under kind and version.
struct SentLetter {
    std::string kind;  ///< letter (the plan, for a colleague), leaflet (for the patient), discharge
    std::int64_t version = 0;
    std::string made;    ///< when it was given out, UTC
    std::string author;  ///< by whom
    std::string to;      ///< for whom, the first line of the address; may be empty
};

/// A letter as a file of its case. It is named after whom it is for.
/// @param bytes  a PDF, or HTML
/// Errors: BadInput (another kind, no letter).
Result<NewCaseFile> sent_letter(const std::string& kind, const std::string& to, std::string bytes);

/// The letters among the files of a case, in the order in which they were given out.
std::vector<SentLetter> sent_letters(const std::vector<CaseFile>& files);

}  // namespace anfract::record
