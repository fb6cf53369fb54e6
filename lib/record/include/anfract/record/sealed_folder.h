#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"

namespace anfract::record {

/// What was sealed or opened.
struct SealReport {
    std::int64_t files = 0, bytes = 0;
};

/// Puts a folder, such as a backup, into one file that only the passphrase opens:
/// XChaCha20-Poly1305 by the secretstream of libsodium, in pieces of 64 KiB, with a key made by
/// Argon2id (256 MiB, three passes). Names, sizes and contents are hidden; the size of the whole is
/// not. Errors: BadInput (there is something at `sealed`, a passphrase of fewer than ten
/// characters), Io, DiskFull, Cancelled; then nothing is left.
Result<SealReport> seal_folder(const std::filesystem::path& folder,
                               const std::filesystem::path& sealed, const std::string& passphrase,
                               const Progress& progress = {});

/// The opposite, into a new folder. Errors: BadInput (no sealed file, another passphrase, or one
/// that was changed or cut anywhere, there is something at `folder`), Io, DiskFull, Cancelled; then
/// nothing is left.
Result<SealReport> open_sealed_folder(const std::filesystem::path& sealed,
                                      const std::filesystem::path& folder,
                                      const std::string& passphrase, const Progress& progress = {});

}  // namespace anfract::record
