#include "letter_head.h"

namespace anfract {
namespace {

/// Lines of an address as markup.
std::string block(const std::vector<std::string>& lines, bool first_bold) {
    std::string text;
    for (std::size_t i = 0; i < lines.size(); ++i) {
        if (i > 0) text += "\n";
        text += i == 0 && first_bold ? "<b>" + escaped(lines[i]) + "</b>" : escaped(lines[i]);
    }
    return text;
}

}  // namespace

void write_letter_head(Sheets& sheets, const Letter& letter, const std::string& language,
                       bool addressed) {
    std::string right = escaped(letter.date);
    if (addressed && !letter.patient.empty()) {
        const char* const whose = language == "de" ? "Patient/in: " : "Patient: ";
        right += (right.empty() ? "" : "\n") + (whose + escaped(letter.patient));
    }
    if (!letter.practice.empty() || !right.empty())
        sheets.letterhead(block(letter.practice, true), right);
    if (addressed && !letter.recipient.empty())
        sheets.paragraph(block(letter.recipient, false), {}, 8);
}

}  // namespace anfract
