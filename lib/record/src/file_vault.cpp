#include "anfract/record/file_vault.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

#include "anfract/base/file.h"
#include "anfract/record/hash.h"

namespace anfract::record {
namespace fs = std::filesystem;

namespace {

tl::unexpected<Error> refuse(const std::string& what, int reason, const fs::path& where) {
    const bool full = reason == ENOSPC || reason == EDQUOT;
    return fail(full ? ErrorCode::NoRoom : ErrorCode::Io, what + " (" + std::strerror(reason) + ")",
                where.string(),
                full ? "make room on the disk and try again" : "check the disk and the rights");
}

Error has_changed(const fs::path& file) {
    return {ErrorCode::BadInput, "has changed since it was stored", file.string(),
            "restore it from a backup"};
}

/// A file in `.arriving`, locked while its writer lives, so that another process can tell it from
/// one whose writer was killed. Removed unless it was kept.
class Arriving {
  public:
    explicit Arriving(const fs::path& folder) : path_(folder / random_hex(12)) {
        descriptor_ = ::open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
        if (descriptor_ >= 0) ::flock(descriptor_, LOCK_EX);
    }
    Arriving(const Arriving&) = delete;
    Arriving& operator=(const Arriving&) = delete;
    ~Arriving() {
        if (descriptor_ < 0) return;
        if (!kept_) ::unlink(path_.c_str());
        ::close(descriptor_);
    }

    bool write(std::string_view bytes) {
        if (descriptor_ < 0) return false;
        while (!bytes.empty()) {
            const ssize_t count = ::write(descriptor_, bytes.data(), bytes.size());
            if (count < 0 && errno == EINTR) continue;
            if (count < 0) return false;
            bytes.remove_prefix(static_cast<std::size_t>(count));
        }
        return true;
    }
    bool flush() { return ::fsync(descriptor_) == 0; }
    const fs::path& path() const { return path_; }
    bool move_to(const fs::path& place) {
        kept_ = ::rename(path_.c_str(), place.c_str()) == 0;
        return kept_;
    }

  private:
    fs::path path_;
    int descriptor_ = -1;
    bool kept_ = false;
};

/// A renamed file outlives a power cut only once its folder has reached the disk.
bool sync_folder(const fs::path& folder) {
    const int descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor < 0) return false;
    const bool synced = ::fsync(descriptor) == 0;
    ::close(descriptor);
    return synced;
}

void remove_abandoned(const fs::path& arriving) {
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(arriving, error)) {
        const int descriptor = ::open(entry.path().c_str(), O_RDONLY | O_CLOEXEC);
        if (descriptor < 0) continue;
        if (::flock(descriptor, LOCK_EX | LOCK_NB) == 0) ::unlink(entry.path().c_str());
        ::close(descriptor);
    }
}

}  // namespace

Result<FileVault> FileVault::open(const fs::path& root) {
    for (const fs::path& folder : {root, root / ".arriving"}) {
        if (::mkdir(folder.c_str(), 0700) != 0 && errno != EEXIST)
            return refuse("the folder cannot be made", errno, folder);
    }
    remove_abandoned(root / ".arriving");
    return FileVault(root);
}

fs::path FileVault::path(const std::string& hash) const {
    return root_ / hash.substr(0, 2) / hash.substr(2);
}

Result<std::string> FileVault::put(std::string_view bytes) const {
    const std::string hash = sha256_hex(bytes);
    const fs::path place = path(hash);
    std::error_code error;
    if (fs::file_size(place, error) == bytes.size() && !error) return hash;
    const fs::path folder = place.parent_path();
    if (::mkdir(folder.c_str(), 0700) != 0 && errno != EEXIST)
        return refuse("the folder cannot be made", errno, folder);
    Arriving file(root_ / ".arriving");
    if (!file.write(bytes) || !file.flush() || !file.move_to(place) || !sync_folder(folder))
        return refuse("a file cannot be written", errno, root_);
    return hash;
}

Result<std::string> FileVault::take(const fs::path& file) const {
    const Result<std::string> hash = sha256_of_file(file);
    if (!hash) return hash;
    const fs::path place = path(*hash);
    const fs::path folder = place.parent_path();
    if (::mkdir(folder.c_str(), 0700) != 0 && errno != EEXIST)
        return refuse("the folder cannot be made", errno, folder);
    if (::rename(file.c_str(), place.c_str()) == 0) {
        ::chmod(place.c_str(), 0600);
        if (!sync_folder(folder)) return refuse("a file cannot be written", errno, root_);
        return hash;
    }
    if (errno != EXDEV) return refuse("a file cannot be moved into place", errno, file);
    const Result<std::string> bytes = read_file(file, std::size_t{1} << 34);
    if (!bytes) return tl::unexpected(bytes.error());
    const Result<std::string> copied = put(*bytes);
    if (copied) ::unlink(file.c_str());
    return copied;
}

Result<std::string> FileVault::get(const std::string& hash) const {
    Result<std::string> bytes = read_file(path(hash), std::size_t{1} << 34);
    if (bytes && sha256_hex(*bytes) != hash) return tl::unexpected(has_changed(path(hash)));
    return bytes;
}

Result<std::int64_t> FileVault::verify(const std::string& hash) const {
    const Result<std::string> found = sha256_of_file(path(hash));
    if (!found) return tl::unexpected(found.error());
    if (*found != hash) return tl::unexpected(has_changed(path(hash)));
    std::error_code error;
    return static_cast<std::int64_t>(fs::file_size(path(hash), error));
}

Result<std::int64_t> FileVault::copy_from(const FileVault& other, const std::string& hash) const {
    const fs::path source = other.path(hash), place = path(hash), folder = place.parent_path();
    const int descriptor = ::open(source.c_str(), O_RDONLY | O_CLOEXEC);
    if (descriptor < 0) {
        return fail(errno == ENOENT ? ErrorCode::NotFound : ErrorCode::Io,
                    std::string("cannot be read (") + std::strerror(errno) + ")", source.string(),
                    "restore it from a backup");
    }
    if (::mkdir(folder.c_str(), 0700) != 0 && errno != EEXIST) {
        ::close(descriptor);
        return refuse("the folder cannot be made", errno, folder);
    }
    Arriving file(root_ / ".arriving");
    std::string chunk(std::size_t{1} << 20, '\0');
    std::int64_t size = 0;
    ssize_t count = 0;
    bool written = true;
    while (written && (count = ::read(descriptor, chunk.data(), chunk.size())) > 0) {
        written = file.write({chunk.data(), static_cast<std::size_t>(count)});
        size += count;
    }
    const int reason = errno;
    ::close(descriptor);
    if (!written) return refuse("a file cannot be written", reason, root_);
    if (count < 0) return refuse("a file cannot be read", reason, source);
    const Result<std::string> found = sha256_of_file(file.path());
    if (!found) return tl::unexpected(found.error());
    if (*found != hash) return tl::unexpected(has_changed(source));
    if (!file.flush() || !file.move_to(place) || !sync_folder(folder))
        return refuse("a file cannot be written", errno, root_);
    return size;
}

void FileVault::discard(const std::string& hash) const { ::unlink(path(hash).c_str()); }

std::vector<std::string> FileVault::list() const {
    std::vector<std::string> hashes;
    std::error_code error;
    for (const auto& folder : fs::directory_iterator(root_, error)) {
        if (folder.path().filename() == ".arriving") continue;
        for (const auto& file : fs::directory_iterator(folder.path(), error)) {
            const std::string hash =
                folder.path().filename().string() + file.path().filename().string();
            if (is_sha256(hash)) hashes.push_back(hash);
        }
    }
    std::sort(hashes.begin(), hashes.end());
    return hashes;
}

}  // namespace anfract::record
