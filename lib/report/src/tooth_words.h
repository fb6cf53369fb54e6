#pragma once

#include <string>

#include "anfract/tooth/tooth.h"

namespace anfract {

/// "lower left second molar" for "37"; empty when the number names no tooth.
std::string tooth_words(const std::string& fdi);

/// "zweiter großer Backenzahn unten links" for "37".
std::string tooth_words_german(const std::string& fdi);

/// "tooth 37 (Universal 18, lower left second molar)", or "the tooth" without a number.
std::string tooth_title(const Tooth& tooth);

}  // namespace anfract
