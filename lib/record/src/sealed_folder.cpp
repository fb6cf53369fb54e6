#include "anfract/record/sealed_folder.h"

#include <fcntl.h>
#include <sodium.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <optional>
#include <utility>
#include <vector>

#include "anfract/record/hash.h"

// The file: `magic`, the salt of the key, the header of the secretstream, and pieces. What they
// hold in clear: for each file its path and size in a line, then its bytes; the last piece is
// tagged as the last.

namespace anfract::record {
namespace fs = std::filesystem;

namespace {

constexpr std::string_view magic = "anfract.sealed 1\n";
constexpr std::size_t piece_bytes = 64 * 1024;
constexpr std::size_t extra = crypto_secretstream_xchacha20poly1305_ABYTES;
constexpr std::size_t longest_path = 4096;

using Key = std::array<unsigned char, crypto_secretstream_xchacha20poly1305_KEYBYTES>;
using Salt = std::array<unsigned char, crypto_pwhash_SALTBYTES>;
using Header = std::array<unsigned char, crypto_secretstream_xchacha20poly1305_HEADERBYTES>;
using State = crypto_secretstream_xchacha20poly1305_state;

unsigned char* unsigned_of(char* bytes) { return reinterpret_cast<unsigned char*>(bytes); }
const unsigned char* unsigned_of(const char* bytes) {
    return reinterpret_cast<const unsigned char*>(bytes);
}

Result<Key> key_of(const std::string& passphrase, const Salt& salt) {
    Key key{};
    if (sodium_init() < 0 ||
        crypto_pwhash(key.data(), key.size(), passphrase.data(), passphrase.size(), salt.data(),
                      crypto_pwhash_OPSLIMIT_MODERATE, crypto_pwhash_MEMLIMIT_MODERATE,
                      crypto_pwhash_ALG_ARGON2ID13) != 0) {
        return fail(ErrorCode::Io, "there is not enough memory for the passphrase", "",
                    "close other programs");
    }
    return key;
}

tl::unexpected<Error> cancelled() { return fail(ErrorCode::Cancelled, "stopped before the end"); }

tl::unexpected<Error> cannot_write(const fs::path& where, int reason) {
    const bool full = reason == ENOSPC || reason == EDQUOT;
    return fail(full ? ErrorCode::NoRoom : ErrorCode::Io,
                std::string("cannot be written (") + std::strerror(reason) + ")", where.string(),
                full ? "make room on the disk and try again" : "check the disk and the rights");
}

tl::unexpected<Error> cannot_open(const fs::path& where) {
    return fail(ErrorCode::BadInput,
                "does not open: the passphrase is another one, or the file was changed or cut",
                where.string(), "check the passphrase, or use another copy");
}

/// A file that is written beside its place, for the user only, and gone unless it was finished.
class Draft {
  public:
    explicit Draft(const fs::path& place)
        : place_(place), path_(place.string() + ".part-" + random_hex(4)) {
        descriptor_ = ::open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    }
    Draft(const Draft&) = delete;
    Draft& operator=(const Draft&) = delete;
    ~Draft() {
        if (descriptor_ < 0) return;
        ::close(descriptor_);
        if (!finished_) ::unlink(path_.c_str());
    }
    bool write(std::string_view bytes) {
        while (descriptor_ >= 0 && !bytes.empty()) {
            const ssize_t count = ::write(descriptor_, bytes.data(), bytes.size());
            if (count < 0 && errno == EINTR) continue;
            if (count < 0) return false;
            bytes.remove_prefix(static_cast<std::size_t>(count));
        }
        return descriptor_ >= 0;
    }
    bool finish() {
        finished_ = ::fsync(descriptor_) == 0 && ::rename(path_.c_str(), place_.c_str()) == 0;
        return finished_;
    }

  private:
    fs::path place_, path_;
    int descriptor_ = -1;
    bool finished_ = false;
};

/// Gathers bytes and writes them in sealed pieces.
class Sealer {
  public:
    Sealer(Draft& draft, State& state) : draft_(draft), state_(state) {}
    bool add(std::string_view bytes) {
        while (!bytes.empty()) {
            if (waiting_.size() == piece_bytes && !flush(0)) return false;
            const std::size_t count = std::min(bytes.size(), piece_bytes - waiting_.size());
            waiting_.append(bytes.substr(0, count));
            bytes.remove_prefix(count);
        }
        return true;
    }
    bool end() { return flush(crypto_secretstream_xchacha20poly1305_TAG_FINAL); }

  private:
    bool flush(unsigned char tag) {
        std::string sealed(waiting_.size() + extra, '\0');
        crypto_secretstream_xchacha20poly1305_push(&state_, unsigned_of(sealed.data()), nullptr,
                                                   unsigned_of(waiting_.data()), waiting_.size(),
                                                   nullptr, 0, tag);
        waiting_.clear();
        return draft_.write(sealed);
    }
    Draft& draft_;
    State& state_;
    std::string waiting_;
};

/// Reads sealed pieces and gives their bytes out; fails on the first that was changed.
class Opener {
  public:
    Opener(std::istream& file, State& state) : file_(file), state_(state) {}

    /// Up to `most` bytes; empty at the end. Nothing when a piece does not open.
    std::optional<std::string_view> some(std::size_t most) {
        if (at_ == clear_.size() && !ended_ && !next()) return std::nullopt;
        const std::size_t count = std::min(most, clear_.size() - at_);
        const std::string_view part(clear_.data() + at_, count);
        at_ += count;
        return part;
    }
    /// Up to the next line break, without it; empty at the end.
    std::optional<std::string> line() {
        std::string text;
        for (;;) {
            const auto one = some(1);
            if (!one || text.size() > longest_path) return std::nullopt;
            if (one->empty()) return text.empty() ? std::optional(text) : std::nullopt;
            if (one->front() == '\n') return text;
            text += *one;
        }
    }

  private:
    bool next() {
        std::string sealed(piece_bytes + extra, '\0');
        file_.read(sealed.data(), static_cast<std::streamsize>(sealed.size()));
        sealed.resize(static_cast<std::size_t>(file_.gcount()));
        if (sealed.size() < extra) return false;
        clear_.assign(sealed.size() - extra, '\0');
        unsigned char tag = 0;
        if (crypto_secretstream_xchacha20poly1305_pull(
                &state_, unsigned_of(clear_.data()), nullptr, &tag,
                unsigned_of(std::as_const(sealed).data()), sealed.size(), nullptr, 0) != 0)
            return false;
        at_ = 0;
        ended_ = tag == crypto_secretstream_xchacha20poly1305_TAG_FINAL;
        // Nothing may follow the last piece, and none but the last may be empty.
        return ended_ ? file_.peek() == std::istream::traits_type::eof() : !clear_.empty();
    }
    std::istream& file_;
    State& state_;
    std::string clear_;
    std::size_t at_ = 0;
    bool ended_ = false;
};

Result<void> seal_file(Sealer& sealer, const fs::path& file, const std::string& name,
                       const fs::path& sealed, SealReport& report) {
    std::error_code error;
    const auto size = fs::file_size(file, error);
    std::ifstream in(file, std::ios::binary);
    if (error || !in)
        return fail(ErrorCode::Io, "cannot be read", file.string(), "check the rights");
    if (!sealer.add(std::to_string(size) + " " + name + "\n")) return cannot_write(sealed, errno);
    std::string piece(piece_bytes, '\0');
    std::uintmax_t left = size;
    while (left > 0) {
        in.read(piece.data(),
                static_cast<std::streamsize>(std::min<std::uintmax_t>(left, piece.size())));
        const auto count = static_cast<std::size_t>(in.gcount());
        if (count == 0)
            return fail(ErrorCode::Io, "became shorter while it was read", file.string(),
                        "seal a folder that nothing writes to");
        if (!sealer.add({piece.data(), count})) return cannot_write(sealed, errno);
        left -= count;
    }
    ++report.files;
    report.bytes += static_cast<std::int64_t>(size);
    return {};
}

/// Names of our own making only: no way out of the folder.
bool is_safe(const fs::path& name) {
    return !name.empty() && name.is_relative() && name == name.lexically_normal() &&
           *name.begin() != "..";
}

Result<void> unseal_files(Opener& opener, const fs::path& folder, const fs::path& sealed,
                          const Progress& progress, SealReport& report) {
    for (;;) {
        if (progress.cancelled()) return cancelled();
        const auto line = opener.line();
        if (!line) return cannot_open(sealed);
        if (line->empty()) return {};
        const std::size_t space = line->find(' ');
        const fs::path name = space == std::string::npos ? "" : line->substr(space + 1);
        if (!is_safe(name)) return cannot_open(sealed);
        std::uintmax_t left = std::strtoull(line->c_str(), nullptr, 10);
        report.bytes += static_cast<std::int64_t>(left);
        std::error_code error;
        fs::create_directories((folder / name).parent_path(), error);
        Draft file(folder / name);
        while (left > 0) {
            const auto part = opener.some(std::min<std::uintmax_t>(left, piece_bytes));
            if (!part || part->empty()) return cannot_open(sealed);
            if (!file.write(*part)) return cannot_write(folder / name, errno);
            left -= part->size();
        }
        if (!file.finish()) return cannot_write(folder / name, errno);
        ++report.files;
    }
}

}  // namespace

Result<SealReport> seal_folder(const fs::path& folder, const fs::path& sealed,
                               const std::string& passphrase, const Progress& progress) {
    std::error_code error;
    if (passphrase.size() < 10)
        return fail(ErrorCode::BadInput, "is shorter than ten characters", "the passphrase",
                    "choose a longer one");
    if (!fs::is_directory(folder, error))
        return fail(ErrorCode::BadInput, "is not a folder", folder.string(), "check the path");
    if (fs::exists(sealed, error))
        return fail(ErrorCode::BadInput, "there is something already", sealed.string(),
                    "name a new file");
    std::vector<fs::path> files;
    for (const auto& entry : fs::recursive_directory_iterator(folder, error)) {
        if (entry.is_regular_file()) files.push_back(entry.path());
    }
    std::sort(files.begin(), files.end());
    Salt salt{};
    randombytes_buf(salt.data(), salt.size());
    const Result<Key> key = key_of(passphrase, salt);
    if (!key) return tl::unexpected(key.error());
    State state;
    Header header{};
    crypto_secretstream_xchacha20poly1305_init_push(&state, header.data(), key->data());
    Draft draft(sealed);
    const auto text_of = [](const auto& bytes) { return std::string(bytes.begin(), bytes.end()); };
    if (!draft.write(std::string(magic) + text_of(salt) + text_of(header)))
        return cannot_write(sealed, errno);
    Sealer sealer(draft, state);
    SealReport report;
    for (const fs::path& file : files) {
        if (progress.cancelled()) return cancelled();
        progress.report(double(report.files) / double(files.size()), "sealing");
        const std::string name = file.lexically_relative(folder).generic_string();
        if (auto done = seal_file(sealer, file, name, sealed, report); !done)
            return tl::unexpected(done.error());
    }
    if (!sealer.end() || !draft.finish()) return cannot_write(sealed, errno);
    return report;
}

Result<SealReport> open_sealed_folder(const fs::path& sealed, const fs::path& folder,
                                      const std::string& passphrase, const Progress& progress) {
    std::error_code error;
    if (fs::exists(folder, error))
        return fail(ErrorCode::BadInput, "there is something already", folder.string(),
                    "name a new folder");
    std::ifstream file(sealed, std::ios::binary);
    if (!file)
        return fail(ErrorCode::NotFound, "cannot be read", sealed.string(), "check the path");
    std::string head(magic.size(), '\0');
    Salt salt{};
    Header header{};
    file.read(head.data(), static_cast<std::streamsize>(head.size()));
    file.read(reinterpret_cast<char*>(salt.data()), salt.size());
    file.read(reinterpret_cast<char*>(header.data()), header.size());
    if (!file || head != magic)
        return fail(ErrorCode::BadInput, "is not a sealed folder", sealed.string(),
                    "give a file that 'anfract store seal' made");
    const Result<Key> key = key_of(passphrase, salt);
    if (!key) return tl::unexpected(key.error());
    State state;
    if (crypto_secretstream_xchacha20poly1305_init_pull(&state, header.data(), key->data()) != 0)
        return cannot_open(sealed);
    const fs::path draft = folder.string() + ".part-" + random_hex(4);
    if (!fs::create_directory(draft, error))
        return fail(ErrorCode::Io, "cannot be made (" + error.message() + ")", folder.string(),
                    "name a folder in one that is there and can be written to");
    fs::permissions(draft, fs::perms::owner_all, error);
    Opener opener(file, state);
    SealReport report;
    const Result<void> done = unseal_files(opener, draft, sealed, progress, report);
    if (done) fs::rename(draft, folder, error);
    if (done && !error) return report;
    const int reason = error.value();
    fs::remove_all(draft, error);
    if (!done) return tl::unexpected(done.error());
    return cannot_write(folder, reason);
}

}  // namespace anfract::record
