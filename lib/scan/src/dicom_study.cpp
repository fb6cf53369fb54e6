#include "anfract/scan/dicom_study.h"

#include <regex>

namespace anfract {

bool is_dicom_uid(const std::string& text) {
    return text.size() <= 64 && std::regex_match(text, std::regex(R"([0-9]+(\.[0-9]+)+)"));
}

}  // namespace anfract
