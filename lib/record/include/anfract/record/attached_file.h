#pragma once

#include <string>

#include "anfract/record/case_book.h"

namespace anfract::record {

/// A picture or radiograph (PNG or JPEG) or a paper (PDF) to be kept with a case, known by its
/// first bytes. Teeth and plans have their own ways in, which check them. Errors: BadInput.
/// @param kind  radiograph, picture or paper
/// @param name  of the sender; only what follows the last slash is kept
Result<NewCaseFile> attached_file(const std::string& kind, const std::string& name,
                                  std::string bytes);

}  // namespace anfract::record
