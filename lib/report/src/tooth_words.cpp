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

std::string tooth_words_german(const std::string& fdi) {
    const auto number = tooth_number_from_fdi(fdi);
    if (!number) return "";
    const char* const permanent[] = {"mittlerer Schneidezahn",
                                     "seitlicher Schneidezahn",
                                     "Eckzahn",
                                     "erster kleiner Backenzahn",
                                     "zweiter kleiner Backenzahn",
                                     "erster großer Backenzahn",
                                     "zweiter großer Backenzahn",
                                     "Weisheitszahn"};
    const char* const primary[] = {"mittlerer Milchschneidezahn", "seitlicher Milchschneidezahn",
                                   "Milcheckzahn", "erster Milchbackenzahn",
                                   "zweiter Milchbackenzahn"};
    return std::string((number->primary() ? primary : permanent)[number->place - 1]) +
           (number->upper() ? " oben" : " unten") + (number->left() ? " links" : " rechts");
}

std::string tooth_title(const Tooth& tooth) {
    if (tooth.fdi.empty()) return "the tooth";
    const auto number = tooth_number_from_fdi(tooth.fdi);
    if (!number) return "tooth " + tooth.fdi;
    return "tooth " + tooth.fdi + " (Universal " + number->universal() + ", " +
           tooth_words(tooth.fdi) + ")";
}

}  // namespace anfract
