#include "upload_file.h"

#include <fcntl.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>

#include "anfract/http/problem.h"

namespace anfract::http {
namespace {

Response disk_refusal(int reason) {
    if (reason == ENOSPC || reason == EDQUOT) {
        return problem(507, "disk_full",
                       {ErrorCode::Io, "there is not enough space on the disk for this file", "",
                        "free some space"});
    }
    return problem(
        500, "io",
        {ErrorCode::Io, std::string("the file cannot be stored (") + std::strerror(reason) + ")",
         "", "check the data directory"});
}

bool fits(const std::filesystem::path& directory, std::uint64_t bytes) {
    struct statvfs disk{};
    if (::statvfs(directory.c_str(), &disk) != 0) return true;  // writing will tell
    return bytes <= std::uint64_t{disk.f_bavail} * disk.f_frsize;
}

}  // namespace

std::unique_ptr<UploadFile> UploadFile::create(const std::filesystem::path& directory,
                                               std::uint64_t expected_bytes,
                                               std::optional<Response>& refusal) {
    if (!fits(directory, expected_bytes)) {
        refusal = disk_refusal(ENOSPC);
        return nullptr;
    }
    std::string name = (directory / "arriving-XXXXXX").string();
    const int fd = ::mkostemp(name.data(), O_CLOEXEC);  // mode 0600
    if (fd < 0) {
        refusal = disk_refusal(errno);
        return nullptr;
    }
    return std::unique_ptr<UploadFile>(new UploadFile(fd, name));
}

UploadFile::~UploadFile() {
    ::close(fd_);
    ::unlink(path_.c_str());  // nothing there any more when the handler has moved it
}

std::optional<Response> UploadFile::write(std::string_view bytes) {
    while (!bytes.empty()) {
        const ssize_t n = ::write(fd_, bytes.data(), bytes.size());
        if (n < 0 && errno == EINTR) continue;
        if (n < 0) return disk_refusal(errno);
        bytes.remove_prefix(static_cast<std::size_t>(n));
    }
    return std::nullopt;
}

}  // namespace anfract::http
