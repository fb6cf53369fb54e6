#pragma once

#include <filesystem>
#include <list>
#include <mutex>
#include <optional>
#include <string>

#include "anfract/base/result.h"
#include "data_directory.h"

namespace anfract::server {

/// A file that was sent and is not a scan of the workspace yet.
struct WaitingUpload {
    std::string id;
    std::filesystem::path
        file;          ///< in a folder of its own; its ending tells the readers what it is
    std::string name;  ///< the sender's
};

/// Uploads that wait for the user to choose a series. They live as long as the process; only the
/// last few are kept.
class UploadShelf {
  public:
    explicit UploadShelf(const DataDirectory& directory) : directory_(directory) {}

    /// Moves a file that has arrived out of the reach of the server's own tidying.
    Result<WaitingUpload> take(const std::filesystem::path& arrived, const std::string& name);
    std::optional<WaitingUpload> find(const std::string& id) const;
    /// Removes it with its file, unless that has been moved elsewhere. @pre `id` is that of an
    /// upload taken here
    void forget(const std::string& id);

  private:
    static constexpr std::size_t most_waiting = 4;
    const DataDirectory& directory_;
    mutable std::mutex mutex_;
    std::list<WaitingUpload> waiting_;  ///< latest first
};

}  // namespace anfract::server
