#pragma once

#include <string>
#include <vector>

namespace anfract::record {

/// A code of ICD-10-CM and what it stands for.
struct DiagnosisCode {
    std::string code;
    std::string text;
};

/// The codes of ICD-10-CM that follow from the consensus terms [AAE2009], as the anfract.case
/// format writes them; terms that have no code of their own there (normal, previously treated) give
/// none. The map of terms to codes is from memory: the clinician may give other codes.
std::vector<DiagnosisCode> icd10_of(const std::string& pulpal, const std::string& apical);

}  // namespace anfract::record
