#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <string_view>

#include "anfract/http/message.h"

namespace anfract::http {

/// Files of a page, held in memory with their compressed form and an entity tag made from their
/// contents.
///
/// A file whose name carries a hash of its contents ("assets/index-B2xk9_1a.js") may be kept by the
/// browser for ever; all others are asked for again each time and answered with 304 when unchanged.
class StaticFiles {
  public:
    /// @param path  without a leading slash
    void add(const std::string& path, std::string_view bytes);
    bool empty() const { return files_.empty(); }

    /// Answers GET. "/" and paths without a dot in their last segment get index.html, since the
    /// page has its own addresses; any other unknown path is 404.
    Response answer(const Request& request) const;

  private:
    struct File {
        std::shared_ptr<const std::string> plain,
            gzipped;  ///< gzipped is null where it would not help
        std::string type, tag;
        bool immutable = false;
    };
    std::map<std::string, File> files_;
};

/// All files below `directory`, read anew: for development. Files that cannot be read are left out.
StaticFiles read_static_files(const std::filesystem::path& directory);

/// Media type by the ending of the name; application/octet-stream when not known.
std::string media_type(std::string_view path);

}  // namespace anfract::http
