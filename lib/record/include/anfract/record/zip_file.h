#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"

struct zip;

namespace anfract::record {

/// True for names of letters that mean a place below a folder on every system: plain parts joined
/// by '/', none of which is empty, begins with a dot or holds ':', '\' or a control character.
bool is_plain_path(std::string_view name);

/// Writes a zip beside its place and moves it there when it is whole.
class ZipWriter {
  public:
    static Result<ZipWriter> begin(const std::filesystem::path& place);
    ZipWriter(ZipWriter&&) noexcept = default;
    ~ZipWriter();

    /// Bytes are kept until `finish`. @pre is_plain_path(name)
    Result<void> add(const std::string& name, std::string bytes);
    /// The file is read in `finish`.
    Result<void> add_file(const std::string& name, const std::filesystem::path& file);
    Result<void> finish(const Progress& progress);

  private:
    struct Discard {
        void operator()(zip* archive) const;
    };
    ZipWriter(std::filesystem::path place, std::filesystem::path draft);
    tl::unexpected<Error> failure() const;

    std::filesystem::path place_, draft_;
    std::unique_ptr<std::map<std::string, std::string>> held_;
    std::unique_ptr<zip, Discard> archive_;
};

/// Reads a zip that may be hostile.
class ZipReader {
  public:
    /// Errors: NotFound, BadInput when it is not a zip or is cut short.
    static Result<ZipReader> open(const std::filesystem::path& place);

    /// The names of its files. Errors: BadInput for one that is not plain or comes twice.
    Result<std::map<std::string, std::uint64_t>> names() const;

    /// Hands out the bytes of a file in pieces; more than `bytes` of them, or fewer, is an error.
    Result<void> read(const std::string& name, std::uint64_t bytes,
                      const std::function<Result<void>(std::string_view)>& piece) const;
    /// The whole of a small file. Errors: BadInput also when it is larger than `limit_bytes`.
    Result<std::string> text(const std::string& name, std::uint64_t limit_bytes) const;

  private:
    struct Discard {
        void operator()(zip* archive) const;
    };
    explicit ZipReader(std::filesystem::path place) : place_(std::move(place)) {}
    std::filesystem::path place_;
    std::unique_ptr<zip, Discard> archive_;
};

}  // namespace anfract::record
