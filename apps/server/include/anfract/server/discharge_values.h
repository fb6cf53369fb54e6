#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>

#include "anfract/record/record.h"
#include "anfract/report/document.h"

namespace anfract::server {

/// What the record tells of a treatment, as the templates "discharge.en" and "discharge.de" take
/// it: diagnosis, depths and last instruments from the log as corrected, fillings, materials with
/// lots, events, restoration, what the patient was told, recalls. What was not recorded is left
/// out, not made up.
/// @param language  "en" or "de", of the words that are not the practice's own
/// Errors: those of the record.
Result<nlohmann::json> discharge_values(const record::Record& record, const std::string& case_id,
                                        const std::string& language = "en");

/// A picture of a case, and when it came into the record.
struct NamedPicture {
    std::string name, date, bytes;
};

/// The radiograph that was added last, if there is any. Errors: those of the record.
Result<std::optional<NamedPicture>> newest_radiograph(const record::Record& record,
                                                      const std::string& case_id);

/// What a discharge letter is made from beside its values.
struct DischargePage {
    std::string text;             ///< a Mustache template
    std::string language = "en";  ///< "en" or "de"
    std::optional<NamedPicture> radiograph;
};

/// The letter with these values, in German with a German greeting unless the practice has its own.
/// Errors: those of document_from.
Result<std::string> discharge_letter(nlohmann::json values, const DischargePage& page,
                                     Letter letter, LetterForm form);

}  // namespace anfract::server
