#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/base/json_document.h"
#include "anfract/report/letter.h"
#include "picture.h"

namespace anfract {

Result<Letter> read_letter(const std::filesystem::path& path) {
    const Result<nlohmann::json> document = read_document(path, "anfract.letter");
    if (!document) return tl::unexpected(document.error());
    auto letter = letter_from_json(*document, path.string());
    const std::string logo = document->value("logo", "");
    if (!letter || logo.empty()) return letter;
    constexpr std::size_t limit_bytes = std::size_t{2} << 20;
    const std::filesystem::path picture = path.parent_path() / logo;
    auto bytes = read_file(picture, limit_bytes);
    if (!bytes) return tl::unexpected(bytes.error());
    if (!bytes->starts_with("\x89PNG\r\n\x1a\n") || !picture_from(*bytes)) {
        return fail(ErrorCode::BadInput, "is not a PNG picture, or damaged", picture.string(),
                    "give one of at most 2 MB beside the letter file");
    }
    letter->logo_png = std::move(*bytes);
    return letter;
}

std::vector<std::string> default_requests() {
    return {"Please send earlier radiographs of this tooth, if there are any.",
            "Please tell us what is planned for the tooth afterwards, and who restores it: a "
            "root-filled back tooth needs cover for its cusps soon.",
            "Please tell us if complaints, medicines or findings have changed since the referral."};
}

Result<Letter> letter_from_json(const nlohmann::json& document, const std::string& where) {
    const auto checked = check_document(document, "anfract.letter", where);
    if (!checked) return tl::unexpected(checked.error());
    Letter letter;
    letter.practice = checked->value("practice", letter.practice);
    letter.recipient = checked->value("recipient", letter.recipient);
    letter.patient = checked->value("patient", letter.patient);
    letter.date = checked->value("date", letter.date);
    letter.salutation = checked->value("salutation", letter.salutation);
    letter.closing = checked->value("closing", letter.closing);
    letter.author = checked->value("author", letter.author);
    letter.call = checked->value("call", letter.call);
    letter.requests = checked->value("requests", default_requests());
    return letter;
}

Letter invented_letter() {
    Letter letter;
    letter.practice = {"Invented practice", "1 Invented Street, Inventown"};
    letter.recipient = {"Dr Invented Recipient", "Invented surgery", "2 Invented Lane, Inventown"};
    letter.patient = "Invented patient";
    letter.author = "Invented endodontist";
    letter.call = "Invented telephone number";
    letter.requests = default_requests();
    return letter;
}

}  // namespace anfract
