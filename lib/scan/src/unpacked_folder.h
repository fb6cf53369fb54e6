#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <utility>

#include "anfract/base/result.h"

namespace anfract {

/// A new folder under the system's temporary folder, for this user only, removed on the way out,
/// and the files that are put into it.
class UnpackedFolder {
  public:
    static Result<UnpackedFolder> make();
    UnpackedFolder(UnpackedFolder&& other) noexcept
        : path_(std::exchange(other.path_, {})),
          fd_(std::exchange(other.fd_, -1)),
          files_(other.files_),
          left_bytes_(other.left_bytes_) {}
    UnpackedFolder& operator=(UnpackedFolder&&) = delete;
    ~UnpackedFolder();

    const std::filesystem::path& path() const { return path_; }
    /// Begins a file; an empty text or what is wrong.
    std::string begin(std::uint64_t folder, const std::string& name);
    std::string append(std::string_view bytes);

  private:
    explicit UnpackedFolder(std::filesystem::path path) : path_(std::move(path)) {}

    std::filesystem::path path_;
    int fd_ = -1;
    std::size_t files_ = 0;
    std::uint64_t left_bytes_ = std::uint64_t{6} << 30;
};

/// True for the last part of a path that is an ordinary file name.
bool is_plain_name(std::string_view name);

}  // namespace anfract
