#include "tooth_words.h"

#include "anfract/tooth/tooth_number.h"

namespace anfract {

std::string tooth_words(const std::string& fdi) {
    const auto number = tooth_number_from_fdi(fdi);
    if (!number) return "";
    const char* const permanent[] = {"central incisor", "lateral incisor", "canine",
                                     "first premolar",  "second premolar", "first molar",
                                     "second molar",    "third molar"};
    const char* const primary[] = {"central incisor", "lateral incisor", "canine", "first molar",
                                   "second molar"};
    const std::string place = number->primary()
                                  ? std::string("primary ") + primary[number->place - 1]
                                  : permanent[number->place - 1];
    return std::string(number->upper() ? "upper " : "lower ") +
           (number->left() ? "left " : "right ") + place;
}

std::string tooth_title(const Tooth& tooth) {
    if (tooth.fdi.empty()) return "the tooth";
    const std::string words = tooth_words(tooth.fdi);
    return "tooth " + tooth.fdi + (words.empty() ? "" : " (" + words + ")");
}

}  // namespace anfract
