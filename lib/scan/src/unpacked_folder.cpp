#include "unpacked_folder.h"

#include <fcntl.h>
#include <unistd.h>

#include <cstdlib>
#include <system_error>

namespace anfract {
namespace {

constexpr std::size_t most_files = 50000;

}  // namespace

bool is_plain_name(std::string_view name) {
    if (name.empty() || name[0] == '.' || name.size() > 200) return false;
    for (const char c : name) {
        if (static_cast<unsigned char>(c) < 32 || c == ':' || c == '/' || c == '\\') return false;
    }
    return true;
}

Result<UnpackedFolder> UnpackedFolder::make() {
    std::error_code error;
    const std::filesystem::path base = std::filesystem::temp_directory_path(error);
    std::string name = (error ? std::filesystem::path("/tmp") : base) / "anfract-XXXXXX";
    // mkdtemp makes the folder readable for this user only.
    if (::mkdtemp(name.data()) == nullptr) {
        return fail(ErrorCode::Io, "no temporary folder can be made", name,
                    "check the rights and the space");
    }
    return UnpackedFolder(name);
}

UnpackedFolder::~UnpackedFolder() {
    if (fd_ >= 0) ::close(fd_);
    if (path_.empty()) return;
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
}

std::string UnpackedFolder::begin(std::uint64_t folder, const std::string& name) {
    if (!is_plain_name(name) || ++files_ > most_files || folder > most_files)
        return "it is damaged";
    if (fd_ >= 0) ::close(fd_);
    const std::filesystem::path in = path_ / std::to_string(folder);
    std::error_code error;
    std::filesystem::create_directory(in, error);
    // A name that comes twice gets the number of the file.
    fd_ = ::open((in / name).c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd_ < 0) {
        fd_ = ::open((in / (std::to_string(files_) + "-" + name)).c_str(),
                     O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    }
    return fd_ < 0 ? "its contents cannot be written to the temporary folder" : "";
}

std::string UnpackedFolder::append(std::string_view bytes) {
    if (bytes.size() > left_bytes_) return "it unpacks to far more than a scan";
    left_bytes_ -= bytes.size();
    while (!bytes.empty()) {
        const ssize_t n = ::write(fd_, bytes.data(), bytes.size());
        if (n <= 0) {
            return "its contents cannot be written to the temporary folder, perhaps the disk is "
                   "full";
        }
        bytes.remove_prefix(std::size_t(n));
    }
    return {};
}

}  // namespace anfract
