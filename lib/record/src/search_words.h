#pragma once

#include <string>
#include <vector>

namespace anfract::record {

/// What a case can be found by: the texts in lower case (ASCII letters only), one space between.
std::string search_words(const std::vector<std::string>& texts);

/// One LIKE pattern, with '!' as its escape, for each word of what the user typed; at most eight.
std::vector<std::string> search_patterns(const std::string& typed);

}  // namespace anfract::record
