#include "anfract/base/file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "anfract/base/descriptor.h"

namespace anfract {
namespace fs = std::filesystem;
namespace {

bool write_all(int fd, std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t n = ::write(fd, bytes.data(), bytes.size());
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0) return false;
        bytes.remove_prefix(static_cast<std::size_t>(n));
    }
    return true;
}

/// A new file beside `path`, which no other thread or process writes. Its name is in `name`, or
/// that is empty and the descriptor -1.
int open_beside(const fs::path& path, unsigned mode, std::string& name) {
    constexpr int most_at_once = 1000;
    for (int n = 0; n < most_at_once; ++n) {
        name = path.string() + ".part-" + std::to_string(::getpid()) + "-" + std::to_string(n);
        const int file = ::open(name.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
        if (file >= 0) return file;
        if (errno != EEXIST) break;
    }
    name.clear();
    return -1;
}

/// What a link leads to, whether or not that exists yet; other names as they are.
fs::path behind_links(fs::path path) {
    constexpr int most = 40;  // as many as Linux follows
    std::error_code none;
    for (int n = 0; n < most && fs::is_symlink(fs::symlink_status(path, none)); ++n)
        path = path.parent_path() / fs::read_symlink(path, none);
    return path;
}

/// Into what is there and is no file: a device, a pipe. Nothing can be kept of what it held.
Result<void> write_into(const fs::path& path, std::string_view bytes) {
    const Descriptor there(::open(path.c_str(), O_WRONLY | O_CLOEXEC));
    if (there.get() < 0 || !write_all(there.get(), bytes)) {
        return fail(ErrorCode::Io, std::string("cannot be written (") + std::strerror(errno) + ")",
                    path.string(), "choose another place");
    }
    return {};
}

}  // namespace

Result<std::string> read_file(const std::filesystem::path& path, std::size_t limit_bytes) {
    const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
    if (file.get() < 0) {
        const bool missing = errno == ENOENT || errno == ENOTDIR;
        return fail(missing ? ErrorCode::NotFound : ErrorCode::Io,
                    std::string("cannot be opened (") + std::strerror(errno) + ")", path.string(),
                    "check the name and the rights");
    }
    struct stat info{};
    if (::fstat(file.get(), &info) != 0 || !S_ISREG(info.st_mode)) {
        return fail(ErrorCode::Io, "is not a regular file", path.string(), "name a file");
    }
    if (static_cast<std::size_t>(info.st_size) > limit_bytes) {
        return fail(
            ErrorCode::Io,
            "is larger than the " + std::to_string(limit_bytes >> 20) + " MiB this program reads",
            path.string());
    }
    std::string bytes(static_cast<std::size_t>(info.st_size), '\0');
    std::size_t done = 0;
    while (done < bytes.size()) {
        const ssize_t n = ::read(file.get(), bytes.data() + done, bytes.size() - done);
        if (n < 0 && errno == EINTR) continue;
        if (n < 0) {
            return fail(ErrorCode::Io, std::string("cannot be read (") + std::strerror(errno) + ")",
                        path.string());
        }
        if (n == 0) break;
        done += static_cast<std::size_t>(n);
    }
    bytes.resize(done);
    return bytes;
}

Result<void> write_file_atomically(const std::filesystem::path& name, std::string_view bytes,
                                   unsigned mode) {
    std::error_code unknown;
    const fs::file_status there = fs::status(name, unknown);
    if (fs::exists(there) && !fs::is_regular_file(there) && !fs::is_directory(there))
        return write_into(name, bytes);
    const fs::path path = behind_links(name);
    std::string temporary;
    const Descriptor file(open_beside(path, mode, temporary));
    const auto refuse = [&] {
        const std::string reason = std::strerror(errno);
        if (!temporary.empty()) ::unlink(temporary.c_str());
        return fail(ErrorCode::Io, "cannot be written (" + reason + ")", path.string(),
                    "free some space or choose another place");
    };
    if (file.get() < 0 || !write_all(file.get(), bytes) || ::fsync(file.get()) != 0 ||
        ::rename(temporary.c_str(), path.c_str()) != 0)
        return refuse();
    // The name is on the disk when its folder is; where a file system cannot flush one, or it
    // cannot be opened, nothing more can be done.
    const fs::path parent = path.has_parent_path() ? path.parent_path() : ".";
    const Descriptor folder(::open(parent.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    if (folder.get() >= 0) (void)::fsync(folder.get());
    return {};
}

}  // namespace anfract
