#include "give_out.h"

#include "anfract/base/file.h"
#include "anfract/server/given_letter.h"

namespace anfract::cli {

void add_keep_options(CLI::App& command, KeepOptions& options) {
    command.add_option(
        "--case", options.id,
        "keep it with this case, as given out now, to whom the letter file or else the record "
        "says");
    add_record_options(command, options.record);
}

Result<Letter> letter_from(const std::string& file, bool invented) {
    if (!file.empty()) return read_letter(file);
    return invented ? invented_letter() : Letter{};
}

Result<Letter> letter_of_case(const std::string& file, bool invented, const record::Record& record,
                              const std::string& id, const std::string& language) {
    const auto given = letter_from(file, invented);
    if (!given) return given;
    const auto notes = record.notes().find(id);
    if (!notes) return tl::unexpected(notes.error());
    Letter letter = server::addressed_letter(*given, notes->notes, language);
    if (file.empty()) return letter;
    if (!given->patient.empty()) letter.patient = given->patient;
    if (!given->recipient.empty()) letter.recipient = given->recipient;
    return letter;
}

Result<Letter> letter_to_keep(const KeepOptions& keep, const std::string& file, bool invented,
                              const std::string& kind, const std::string& language) {
    if (keep.id.empty()) return letter_from(file, invented);
    const auto record = keep.record.open();
    if (!record) return tl::unexpected(record.error());
    if (auto seen = record_look(**record, kind, keep.id); !seen)
        return tl::unexpected(seen.error());
    return letter_of_case(file, invented, **record, keep.id, language);
}

Result<void> give_out(const KeepOptions& keep, const std::string& kind, const Letter& letter,
                      const std::string& bytes, const std::string& out) {
    if (!keep.id.empty()) {
        const auto record = keep.record.open();
        if (!record) return tl::unexpected(record.error());
        if (auto kept = server::keep_given_letter(**record, keep.id, kind, letter, bytes, "");
            !kept)
            return kept;
    }
    return write_file_atomically(out, bytes, 0600);
}

}  // namespace anfract::cli
