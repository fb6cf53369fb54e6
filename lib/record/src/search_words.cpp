#include "search_words.h"

#include <sstream>

namespace anfract::record {
namespace {

std::string lower_case(std::string text) {
    for (char& letter : text) {
        if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter - 'A' + 'a');
    }
    return text;
}

}  // namespace

std::string search_words(const std::vector<std::string>& texts) {
    std::string words;
    for (const std::string& text : texts) {
        if (text.empty()) continue;
        if (!words.empty()) words += ' ';
        words += lower_case(text);
    }
    return words;
}

std::vector<std::string> search_patterns(const std::string& typed) {
    std::vector<std::string> patterns;
    std::istringstream words(lower_case(typed));
    for (std::string word; patterns.size() < 8 && words >> word;) {
        std::string pattern = "%";
        for (const char letter : word) {
            if (letter == '%' || letter == '_' || letter == '!') pattern += '!';
            pattern += letter;
        }
        patterns.push_back(pattern + "%");
    }
    return patterns;
}

}  // namespace anfract::record
