#include "anfract/server/given_letter.h"

#include "anfract/record/sent_letter.h"

namespace anfract::server {
namespace {

std::string receiver_of(const Letter& letter, const std::string& kind) {
    if (kind == "leaflet") return letter.patient;
    return letter.recipient.empty() ? "" : letter.recipient.front();
}

}  // namespace

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
