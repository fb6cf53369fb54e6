#include "anfract/record/diagnosis.h"

#include <map>

namespace anfract::record {

std::vector<DiagnosisCode> icd10_of(const std::string& pulpal, const std::string& apical) {
    // K04.0, K04.9 and K04 are headers and must not be given. An acute abscess is K04.7 because
    // that code is defined by the absence of a sinus tract, a chronic one K04.6 by its presence.
    static const std::map<std::string, DiagnosisCode> codes{
        {"reversible-pulpitis", {"K04.01", "Reversible pulpitis"}},
        {"symptomatic-irreversible-pulpitis", {"K04.02", "Irreversible pulpitis"}},
        {"asymptomatic-irreversible-pulpitis", {"K04.02", "Irreversible pulpitis"}},
        {"pulp-necrosis", {"K04.1", "Necrosis of pulp"}},
        {"symptomatic-apical-periodontitis", {"K04.4", "Acute apical periodontitis"}},
        {"asymptomatic-apical-periodontitis", {"K04.5", "Chronic apical periodontitis"}},
        {"chronic-apical-abscess", {"K04.6", "Periapical abscess with sinus"}},
        {"acute-apical-abscess", {"K04.7", "Periapical abscess without sinus"}},
    };
    std::vector<DiagnosisCode> found;
    for (const std::string& term : {pulpal, apical}) {
        if (const auto code = codes.find(term); code != codes.end()) found.push_back(code->second);
    }
    return found;
}

}  // namespace anfract::record
