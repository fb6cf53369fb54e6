#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"

namespace anfract::server {

struct ServeOptions {
    std::uint16_t port = 0;                          ///< 0: any free one
    std::string address = "127.0.0.1";               ///< another one needs an account and TLS
    std::filesystem::path tls_certificate, tls_key;  ///< PEM; empty: plain HTTP
    std::filesystem::path data;                      ///< where scans, cases and the tray are kept
    std::string database;         ///< of the record; empty: record.sqlite in `data`
    std::filesystem::path files;  ///< of the record; empty: files/ in `data`
    std::filesystem::path page;  ///< a folder served in place of the built-in page; empty: built-in
    std::filesystem::path letter;  ///< the practice's letterhead, anfract.letter; empty: none
    std::vector<std::filesystem::path> open;  ///< scans to have in the list from the start
    unsigned running_jobs = 1;                ///< tracings at a time; more wait their turn
    std::size_t scan_memory_bytes =
        std::size_t{3} << 29;  ///< scans not looked at lately are forgotten beyond this
    std::uint64_t upload_limit_bytes = std::uint64_t{4} << 30;

    /// Whether only this machine can reach it.
    bool is_local() const { return address.starts_with("127.") || address == "::1"; }
};

/// The web workspace of docs/http-api.md.
class WorkspaceServer {
  public:
    /// Opens the data directory, reads the scans of `options.open` and starts to listen.
    /// Errors: Io (the data directory is in use or cannot be written, the port is taken), BadInput
    /// (beyond loopback without an account or TLS), and those of open_scan.
    static Result<std::unique_ptr<WorkspaceServer>> start(const ServeOptions& options,
                                                          const Progress& progress);

    virtual ~WorkspaceServer() = default;  ///< stops
    virtual std::uint16_t port() const = 0;

    /// Cancels the jobs and ends all connections. Returns when nothing runs any more.
    virtual void stop() = 0;
};

/// $XDG_DATA_HOME/anfract, or ~/.local/share/anfract (XDG Base Directory Specification, version
/// 0.8).
std::filesystem::path default_data_directory();

}  // namespace anfract::server
