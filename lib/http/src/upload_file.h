#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string_view>

#include "anfract/http/message.h"

namespace anfract::http {

/// A body that is written to disk while it arrives. The file goes with the object, unless moved
/// away before.
class UploadFile {
  public:
    /// Makes an empty file of mode 0600 in `directory`. `expected_bytes`, when known, is compared
    /// with the space left, so that a body that cannot fit is refused before it is sent.
    /// @return null, with the answer to give in `refusal`, when that fails
    static std::unique_ptr<UploadFile> create(const std::filesystem::path& directory,
                                              std::uint64_t expected_bytes,
                                              std::optional<Response>& refusal);
    UploadFile(const UploadFile&) = delete;
    UploadFile& operator=(const UploadFile&) = delete;
    ~UploadFile();

    /// Appends; returns the answer to give when the disk refuses (507 when it is full).
    std::optional<Response> write(std::string_view bytes);

    const std::filesystem::path& path() const { return path_; }

  private:
    UploadFile(int fd, std::filesystem::path path) : fd_(fd), path_(std::move(path)) {}
    int fd_;
    std::filesystem::path path_;
};

}  // namespace anfract::http
