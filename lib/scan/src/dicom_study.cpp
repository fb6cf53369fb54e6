#include "anfract/scan/dicom_study.h"

#include <algorithm>

namespace anfract {

bool is_dicom_uid(const std::string& text) {
    const auto digit_or_dot = [](char c) { return c == '.' || (c >= '0' && c <= '9'); };
    return text.size() <= 64 && text.find('.') != std::string::npos && text.front() != '.' &&
           text.back() != '.' && text.find("..") == std::string::npos &&
           std::all_of(text.begin(), text.end(), digit_or_dot);
}

}  // namespace anfract
