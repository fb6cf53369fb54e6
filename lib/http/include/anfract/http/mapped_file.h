#pragma once

#include <filesystem>
#include <memory>
#include <string_view>

#include "anfract/base/result.h"

namespace anfract::http {

/// A file's bytes as memory, of which only what is read takes room: the body of a large answer.
class MappedFile {
  public:
    virtual ~MappedFile() = default;
    virtual std::string_view bytes() const = 0;

    /// Maps a file and removes its name, so that it is gone with the last who holds it, also after
    /// a kill. Nobody else may write to it. Errors: Io, also when it is empty.
    static Result<std::shared_ptr<const MappedFile>> take(const std::filesystem::path& path);
};

}  // namespace anfract::http
