#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"

namespace anfract {

/// Takes what is unpacked; the reading process may not write files itself.
class UnzipSink {
  public:
    UnzipSink() = default;
    UnzipSink(const UnzipSink&) = delete;
    UnzipSink& operator=(const UnzipSink&) = delete;
    virtual ~UnzipSink() = default;

    /// The next file begins. Files that lay together in the zip have the same `folder`.
    virtual void begin(std::size_t folder, const std::string& name) = 0;
    virtual void bytes(std::string_view part) = 0;
};

/// Unpacks a zip, within limits on count and size.
Result<void> unzip(const std::filesystem::path& zip, UnzipSink& to, const Progress& progress);

}  // namespace anfract
