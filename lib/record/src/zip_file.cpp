#include "anfract/record/zip_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zip.h>

#include <array>
#include <cerrno>
#include <cstring>

#include "anfract/record/hash.h"

namespace anfract::record {
namespace fs = std::filesystem;

namespace {

tl::unexpected<Error> damaged(const std::string& what, const fs::path& where) {
    return fail(ErrorCode::BadInput, what, where.string(), "ask for the archive again");
}

bool sync(const fs::path& path, int flags) {
    const int descriptor = ::open(path.c_str(), flags | O_CLOEXEC);
    if (descriptor < 0) return false;
    const bool synced = ::fsync(descriptor) == 0;
    ::close(descriptor);
    return synced;
}

}  // namespace

bool is_plain_path(std::string_view name) {
    if (name.empty() || name.size() > 400) return false;
    for (std::size_t begin = 0; begin <= name.size();) {
        const std::size_t end = std::min(name.find('/', begin), name.size());
        const std::string_view part = name.substr(begin, end - begin);
        if (part.empty() || part[0] == '.' || part.size() > 200) return false;
        for (const char c : part) {
            if (static_cast<unsigned char>(c) < 32 || c == 127 || c == ':' || c == '\\')
                return false;
        }
        begin = end + 1;
    }
    return true;
}

// ---- writing ----

void ZipWriter::Discard::operator()(zip* archive) const { zip_discard(archive); }

ZipWriter::ZipWriter(fs::path place, fs::path draft)
    : place_(std::move(place)),
      draft_(std::move(draft)),
      held_(std::make_unique<std::map<std::string, std::string>>()) {}

ZipWriter::~ZipWriter() {
    archive_.reset();
    if (!draft_.empty()) ::unlink(draft_.c_str());
}

Result<ZipWriter> ZipWriter::begin(const fs::path& place) {
    ZipWriter writer(place, place.string() + ".part-" + random_hex(4));
    // Made first, so that only the user may ever read it.
    const int descriptor =
        ::open(writer.draft_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (descriptor < 0) {
        const std::string reason = std::strerror(errno);
        writer.draft_.clear();
        return fail(ErrorCode::Io, "cannot be written (" + reason + ")", place.string(),
                    "name a file in a folder that is there and can be written to");
    }
    ::close(descriptor);
    int code = 0;
    writer.archive_.reset(zip_open(writer.draft_.c_str(), ZIP_CREATE | ZIP_TRUNCATE, &code));
    if (!writer.archive_)
        return fail(ErrorCode::Io, "cannot be written", place.string(), "check the disk");
    return writer;
}

tl::unexpected<Error> ZipWriter::failure() const {
    zip_error_t* const error = zip_get_error(archive_.get());
    const int reason =
        zip_error_system_type(error) == ZIP_ET_SYS ? zip_error_code_system(error) : 0;
    const bool full = reason == ENOSPC || reason == EDQUOT || reason == EFBIG;
    return fail(full ? ErrorCode::NoRoom : ErrorCode::Io,
                std::string("cannot be written (") + zip_error_strerror(error) + ")",
                place_.string(), full ? "make room on the disk and try again" : "check the disk");
}

Result<void> ZipWriter::add(const std::string& name, std::string bytes) {
    const std::string& kept = (*held_)[name] = std::move(bytes);
    zip_source_t* const source = zip_source_buffer(archive_.get(), kept.data(), kept.size(), 0);
    if (source == nullptr) return failure();
    if (zip_file_add(archive_.get(), name.c_str(), source, ZIP_FL_ENC_UTF_8) >= 0) return {};
    zip_source_free(source);
    return failure();
}

Result<void> ZipWriter::add_file(const std::string& name, const fs::path& file) {
    zip_source_t* const source = zip_source_file(archive_.get(), file.c_str(), 0, -1);
    if (source == nullptr) return failure();
    if (zip_file_add(archive_.get(), name.c_str(), source, ZIP_FL_ENC_UTF_8) >= 0) return {};
    zip_source_free(source);
    return failure();
}

Result<void> ZipWriter::finish(const Progress& progress) {
    zip_register_progress_callback_with_state(
        archive_.get(), 0.01,
        [](zip_t*, double fraction, void* to) {
            static_cast<const Progress*>(to)->report(fraction, "writing the archive");
        },
        nullptr, const_cast<Progress*>(&progress));
    zip_register_cancel_callback_with_state(
        archive_.get(),
        [](zip_t*, void* from) { return static_cast<const Progress*>(from)->cancelled() ? 1 : 0; },
        nullptr, const_cast<Progress*>(&progress));
    if (zip_close(archive_.get()) != 0) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
        return failure();
    }
    (void)archive_.release();  // zip_close has freed it
    ::chmod(draft_.c_str(), 0600);
    if (!sync(draft_, O_RDONLY) || ::rename(draft_.c_str(), place_.c_str()) != 0) {
        return fail(ErrorCode::Io,
                    std::string("cannot be put into place (") + std::strerror(errno) + ")",
                    place_.string(), "check the disk");
    }
    draft_.clear();
    sync(fs::absolute(place_).parent_path(), O_RDONLY | O_DIRECTORY);
    return {};
}

// ---- reading ----

void ZipReader::Discard::operator()(zip* archive) const { zip_discard(archive); }

Result<ZipReader> ZipReader::open(const fs::path& place) {
    std::error_code error;
    if (!fs::exists(place, error))
        return fail(ErrorCode::NotFound, "there is no such file", place.string(), "check the name");
    ZipReader reader(place);
    int code = 0;
    reader.archive_.reset(zip_open(place.c_str(), ZIP_RDONLY | ZIP_CHECKCONS, &code));
    if (!reader.archive_) return damaged("is not a zip archive, or is cut short", place);
    return reader;
}

Result<std::map<std::string, std::uint64_t>> ZipReader::names() const {
    std::map<std::string, std::uint64_t> all;
    const zip_int64_t count = zip_get_num_entries(archive_.get(), 0);
    for (zip_int64_t i = 0; i < count; ++i) {
        zip_stat_t about;
        if (zip_stat_index(archive_.get(), zip_uint64_t(i), 0, &about) != 0 ||
            (about.valid & ZIP_STAT_NAME) == 0 || (about.valid & ZIP_STAT_SIZE) == 0)
            return damaged("is damaged", place_);
        if (!is_plain_path(about.name))
            return damaged("holds a file whose name leads elsewhere", place_);
        if (!all.emplace(about.name, about.size).second)
            return damaged("holds two files of one name", place_);
    }
    return all;
}

Result<void> ZipReader::read(const std::string& name, std::uint64_t bytes,
                             const std::function<Result<void>(std::string_view)>& piece) const {
    struct Close {
        void operator()(zip_file_t* file) const { zip_fclose(file); }
    };
    const std::unique_ptr<zip_file_t, Close> file(zip_fopen(archive_.get(), name.c_str(), 0));
    if (!file) return damaged("lacks the file '" + name + "' or it cannot be read", place_);
    std::array<char, 1 << 16> room{};
    std::uint64_t left = bytes;
    for (;;) {
        const zip_int64_t count = zip_fread(file.get(), room.data(), room.size());
        if (count < 0) return damaged("the file '" + name + "' is damaged", place_);
        if (count == 0) break;
        if (std::uint64_t(count) > left)
            return damaged("the file '" + name + "' is larger than the manifest says", place_);
        left -= std::uint64_t(count);
        if (auto done = piece({room.data(), std::size_t(count)}); !done) return done;
    }
    if (left > 0) return damaged("the file '" + name + "' is cut short", place_);
    return {};
}

Result<std::string> ZipReader::text(const std::string& name, std::uint64_t limit_bytes) const {
    zip_stat_t about;
    if (zip_stat(archive_.get(), name.c_str(), 0, &about) != 0)
        return damaged("lacks the file '" + name + "'", place_);
    if (about.size > limit_bytes) return damaged("the file '" + name + "' is too large", place_);
    std::string whole;
    const auto done = read(name, about.size, [&](std::string_view piece) -> Result<void> {
        whole += piece;
        return {};
    });
    if (!done) return tl::unexpected(done.error());
    return whole;
}

}  // namespace anfract::record
