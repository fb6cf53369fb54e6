#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "anfract/report/letter.h"

namespace anfract {

Result<Letter> read_letter(const std::filesystem::path& path) {
    const Result<nlohmann::json> document = read_document(path, "anfract.letter");
    if (!document) return tl::unexpected(document.error());
    return letter_from_json(*document, path.string());
}

Result<Letter> letter_from_json(const nlohmann::json& document, const std::string& where) {
    const auto checked = parse_document(document.dump(), "anfract.letter", where);
    if (!checked) return tl::unexpected(checked.error());
    Letter letter;
    letter.practice = checked->value("practice", letter.practice);
    letter.recipient = checked->value("recipient", letter.recipient);
    letter.patient = checked->value("patient", letter.patient);
    letter.date = checked->value("date", letter.date);
    letter.salutation = checked->value("salutation", letter.salutation);
    letter.closing = checked->value("closing", letter.closing);
    letter.author = checked->value("author", letter.author);
    return letter;
}

Letter invented_letter() {
    Letter letter;
    letter.practice = {"Invented practice", "1 Invented Street, Inventown"};
    letter.recipient = {"Dr Invented Recipient", "Invented surgery", "2 Invented Lane, Inventown"};
    letter.patient = "Invented patient";
    letter.author = "Invented endodontist";
    return letter;
}

}  // namespace anfract
