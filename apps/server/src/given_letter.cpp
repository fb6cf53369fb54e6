#include "anfract/server/given_letter.h"

#include <nlohmann/json.hpp>
#include <sstream>

#include "anfract/record/instant.h"
#include "anfract/record/sent_letter.h"

namespace anfract::server {
namespace {

std::string receiver_of(const Letter& letter, const std::string& kind) {
    if (kind == "leaflet") return letter.patient;
    return letter.recipient.empty() ? "" : letter.recipient.front();
}

}  // namespace

std::string text_in(const nlohmann::json& notes, const std::string& part, const std::string& key) {
    return notes.value(part, nlohmann::json::object()).value(key, "");
}

Letter addressed_letter(Letter letter, const nlohmann::json& notes, const std::string& language) {
    if (letter.date.empty()) letter.date = record::now_text().substr(0, 10);
    const std::string name = text_in(notes, "patient", "name"),
                      born = text_in(notes, "patient", "born"),
                      reference = text_in(notes, "patient", "reference");
    if (!name.empty() || !reference.empty()) {
        letter.patient = name.empty() ? reference : name;
        if (!born.empty()) letter.patient += (language == "de" ? ", geb. " : ", born ") + born;
    }
    const std::string from = text_in(notes, "referral", "from");
    if (!from.empty()) {
        letter.recipient = {from};
        std::istringstream address(text_in(notes, "referral", "address"));
        for (std::string line; std::getline(address, line);) letter.recipient.push_back(line);
    }
    return letter;
}

Result<void> keep_given_letter(const record::Record& record, const std::string& case_id,
                               const std::string& kind, const Letter& letter,
                               const std::string& bytes, const std::string& author) {
    const auto file = record::sent_letter(kind, receiver_of(letter, kind), bytes);
    if (!file) return tl::unexpected(file.error());
    const auto kept = record.cases().add_file(case_id, *file, author);
    if (!kept) return tl::unexpected(kept.error());
    return {};
}

}  // namespace anfract::server
