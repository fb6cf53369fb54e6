#pragma once

#include <filesystem>
#include <functional>
#include <mutex>
#include <string>
#include <string_view>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "reader_channel.h"

namespace anfract {

/// Calls the reading process, which it starts at the first call and keeps.
class ReaderClient {
  public:
    /// Takes File and Bytes messages; an empty text or what is wrong, which ends the call.
    using Taker = std::function<std::string(MessageKind kind, std::string_view bytes)>;

    explicit ReaderClient(std::filesystem::path program) : program_(std::move(program)) {}
    ReaderClient(const ReaderClient&) = delete;
    ReaderClient& operator=(const ReaderClient&) = delete;
    ~ReaderClient();

    /// One call; may be made from any thread.
    ///
    /// @param memory_file  where the reading process puts voxels
    /// @return the bytes of the reply; the child that made it is ended. Errors: Cancelled;
    /// Io (no reading process); BadInput (it crashed, took too long, was stopped for a forbidden
    /// call or said something impossible), with `where` in it.
    Result<std::string> call(const std::string& request, int memory_file, const std::string& where,
                             const ReaderLimits& limits, const Progress& progress,
                             const Taker& take);

  private:
    bool start();
    Result<std::string> converse(int call, int status, const std::string& request,
                                 const std::string& where, const ReaderLimits& limits,
                                 const Progress& progress, const Taker& take);

    const std::filesystem::path program_;
    std::mutex starting_;
    int control_ = -1;
    int pid_ = -1;
};

/// The reading process of this program: `anfract_scan_reader` beside the running program.
ReaderClient& scan_reader();

}  // namespace anfract
