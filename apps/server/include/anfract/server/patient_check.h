#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "anfract/record/record.h"
#include "anfract/scan/dicom_study.h"

namespace anfract::server {

/// Where the notes of a case tell of another patient than its scan does: a sentence for the name
/// and one for the date of birth. Names agree when all words of one are among those of the other,
/// in any order and case. Nothing is said where either is silent. Numbers are not compared:
/// practice and X-ray centre give their own.
std::vector<std::string> patient_differences(const nlohmann::json& notes, const DicomStudy& study);

/// The same for a case of the record; to warn with, never to refuse. Empty when it has no scan, or
/// one that was taken in before studies were kept. Errors: those of the record.
Result<std::vector<std::string>> patient_warnings(const record::Record& record,
                                                  const std::string& case_id,
                                                  const nlohmann::json& notes);

}  // namespace anfract::server
