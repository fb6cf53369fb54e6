#pragma once

#include <filesystem>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"

namespace anfract {

/// A folder of our own under the system's temporary folder, gone with this object.
class TemporaryFolder {
  public:
    static Result<TemporaryFolder> make();
    TemporaryFolder(TemporaryFolder&& other) noexcept : path_(std::move(other.path_)) {
        other.path_.clear();
    }
    TemporaryFolder& operator=(TemporaryFolder&&) = delete;
    ~TemporaryFolder();
    const std::filesystem::path& path() const { return path_; }

  private:
    explicit TemporaryFolder(std::filesystem::path path) : path_(std::move(path)) {}
    std::filesystem::path path_;
};

/// Unpacks a zip. Each entry is written under a number of its own, so that its name cannot lead
/// anywhere else; only the last part of the name is kept, and only if it is plain. Counts, sizes
/// and the ratio to the packed size are limited, and what is really inflated is counted, not what
/// the zip claims.
Result<TemporaryFolder> unzip(const std::filesystem::path& zip, const Progress& progress);

}  // namespace anfract
