#include "give_out.h"

#include "anfract/base/file.h"
#include "anfract/server/given_letter.h"

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
