#pragma once

#include <filesystem>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "anfract/base/result.h"

namespace anfract::server {

/// The folder that keeps what must survive a restart. Only the user may read it: folders are of
/// mode 0700, files of 0600.
///
///     lock          held while a server runs
///     uploads/      files that are arriving, or wait for a series to be chosen; emptied at start
///     scans/ID/     survey.json, and a link to an uploaded file: what can be made again
///     record.sqlite, files/   the record (lib/record), unless it lies elsewhere
///     cases/ID/, scans/ID/scan.json, corrections/, tray.json   as the first version kept them,
///     until
///                   they are taken over into the record
///     taken-over/   those files afterwards
class DataDirectory {
  public:
    /// Makes what is missing and takes the lock. Errors: Io, in particular when another server has
    /// it.
    static Result<std::unique_ptr<DataDirectory>> open(const std::filesystem::path& root);
    DataDirectory(const DataDirectory&) = delete;
    DataDirectory& operator=(const DataDirectory&) = delete;
    ~DataDirectory();

    std::filesystem::path root() const { return root_; }
    std::filesystem::path uploads() const { return root_ / "uploads"; }
    std::filesystem::path scans() const { return root_ / "scans"; }
    std::filesystem::path cases() const { return root_ / "cases"; }
    std::filesystem::path taken_over() const { return root_ / "taken-over"; }
    std::filesystem::path tray_file() const { return root_ / "tray.json"; }

  private:
    DataDirectory(std::filesystem::path root, int lock) : root_(std::move(root)), lock_(lock) {}
    std::filesystem::path root_;
    int lock_;
};

/// Sixteen random hexadecimal digits.
std::string new_id();

/// True for what new_id makes. Nothing else from a request may become part of a path.
bool is_id(std::string_view text);

/// The names of the folders directly below `parent` that are ids, in no particular order.
std::vector<std::string> ids_below(const std::filesystem::path& parent);

/// Writes a file for the user only.
Result<void> write_private(const std::filesystem::path& path, std::string_view bytes);

/// Reads a JSON file of our own making. Errors: those of read_file, and BadInput when it is not
/// JSON.
Result<nlohmann::json> read_json(const std::filesystem::path& path);

/// Now, as "2026-01-31T12:00:00Z".
std::string utc_now();

}  // namespace anfract::server
