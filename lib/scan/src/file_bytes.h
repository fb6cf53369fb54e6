#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

namespace anfract {

/// An open file that is read at offsets; closed on the way out.
class FileBytes {
  public:
    explicit FileBytes(const std::filesystem::path& path);
    FileBytes(const FileBytes&) = delete;
    FileBytes& operator=(const FileBytes&) = delete;
    ~FileBytes();

    /// False when the file cannot be opened or is not a regular file.
    bool good() const { return fd_ >= 0; }
    std::uint64_t size() const { return size_; }
    /// Reads up to `count` bytes at `offset`; returns how many there were.
    std::size_t read(void* to, std::size_t count, std::uint64_t offset) const;

  private:
    int fd_ = -1;
    std::uint64_t size_ = 0;
};

/// The start of what a DICOM file says, ready to parse: for a deflated file, its inflated data set.
struct DicomBytes {
    std::string bytes;
    bool complete = false;  ///< nothing follows after `bytes`
    bool inflated =
        false;  ///< `bytes` is a data set in Explicit VR Little Endian without a file header
};

/// The first `count` bytes; nothing when the file cannot be read or inflated.
std::optional<DicomBytes> dicom_bytes(const FileBytes& file, std::size_t count);

}  // namespace anfract
