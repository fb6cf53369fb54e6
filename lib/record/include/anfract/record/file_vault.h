#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "anfract/base/result.h"

namespace anfract::record {

/// Files kept under the SHA-256 of their content, beside the database. A file is never changed, so
/// whatever names one names its bytes. Several processes may use one vault.
///
///     ROOT/ab/cdef...    the file whose hash is abcdef...
///     ROOT/.arriving/    files that are being written
class FileVault {
  public:
    /// Makes the folder if it is missing and removes what killed writers left in `.arriving`.
    static Result<FileVault> open(const std::filesystem::path& root);

    /// A vault that is there, to be read from, also on a disk that cannot be written to.
    static FileVault at(const std::filesystem::path& root) { return FileVault(root); }

    /// Stores bytes; returns their hash. Errors: Io, DiskFull.
    Result<std::string> put(std::string_view bytes) const;

    /// Takes in a file by moving it, or by copying when it lies on another disk.
    Result<std::string> take(const std::filesystem::path& file) const;

    /// Where the file of that hash lies, whether it is there or not. @pre is_sha256(hash)
    std::filesystem::path path(const std::string& hash) const;

    /// The bytes, checked against the hash. Errors: NotFound, Io, BadInput when they have changed.
    Result<std::string> get(const std::string& hash) const;

    /// Checks a file against its hash, in pieces; returns its size. Errors: those of get.
    Result<std::int64_t> verify(const std::string& hash) const;

    /// Copies a file of another vault, in pieces, and checks it; returns its size. Errors: those of
    /// get and put.
    Result<std::int64_t> copy_from(const FileVault& other, const std::string& hash) const;

    /// Removes a file. @pre no row names it
    void discard(const std::string& hash) const;

    /// The hashes of all files, sorted.
    std::vector<std::string> list() const;

    std::filesystem::path root() const { return root_; }

  private:
    explicit FileVault(std::filesystem::path root) : root_(std::move(root)) {}
    std::filesystem::path root_;
};

}  // namespace anfract::record
