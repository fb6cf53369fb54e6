#include "give_out.h"

#include "anfract/base/file.h"
#include "anfract/record/sent_letter.h"

namespace anfract::cli {

void add_keep_options(CLI::App& command, KeepOptions& options) {
    command.add_option("--case", options.id,
                       "keep it with this case, as given out now, to whom the letter file says");
    add_record_options(command, options.record);
}

Result<Letter> letter_from(const std::string& file, bool invented) {
    if (!file.empty()) return read_letter(file);
    return invented ? invented_letter() : Letter{};
}

std::string receiver_of(const Letter& letter, const std::string& kind) {
    if (kind == "leaflet") return letter.patient;
    return letter.recipient.empty() ? "" : letter.recipient.front();
}

Result<void> give_out(const KeepOptions& keep, const std::string& kind, const Letter& letter,
                      const std::string& bytes, const std::string& out) {
    if (!keep.id.empty()) {
        const auto record = keep.record.open();
        if (!record) return tl::unexpected(record.error());
        const auto file = record::sent_letter(kind, receiver_of(letter, kind), bytes);
        if (!file) return tl::unexpected(file.error());
        const auto kept = (*record)->cases().add_file(keep.id, *file, "");
        if (!kept) return tl::unexpected(kept.error());
    }
    return write_file_atomically(out, bytes, 0600);
}

}  // namespace anfract::cli
