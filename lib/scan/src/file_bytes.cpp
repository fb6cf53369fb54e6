#include "file_bytes.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

#include <algorithm>
#include <cerrno>
#include <string_view>

namespace anfract {
namespace {

constexpr std::string_view deflated_syntax = "1.2.840.10008.1.2.1.99";

/// Where the data set begins, when the file header names the deflated transfer syntax. The header
/// starts with the element (0002,0000), whose value is the length of the rest of it [DICOM
/// PS3.10, 7.1].
std::optional<std::size_t> start_of_deflated(std::string_view head) {
    constexpr std::size_t group_length_ends = 128 + 4 + 12;
    if (head.size() < group_length_ends || head.substr(128, 4) != "DICM") return std::nullopt;
    if (head.substr(132, 8) != std::string_view("\x02\x00\x00\x00UL\x04\x00", 8))
        return std::nullopt;
    std::size_t length = 0;
    for (std::size_t b = 0; b < 4; ++b) {
        length |= std::size_t(static_cast<unsigned char>(head[140 + b])) << (8 * b);
    }
    if (length > 65536) return std::nullopt;
    const std::string_view header = head.substr(group_length_ends, length);
    const std::size_t found = header.find(deflated_syntax);
    if (found == std::string_view::npos) return std::nullopt;
    return group_length_ends + length;
}

/// Inflates raw deflate data until `count` bytes or the end; nothing for damaged data.
std::optional<DicomBytes> inflate_some(std::string_view packed, std::size_t count) {
    z_stream stream{};
    if (inflateInit2(&stream, -MAX_WBITS) != Z_OK) return std::nullopt;
    DicomBytes result;
    result.inflated = true;
    stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));
    stream.avail_in = static_cast<uInt>(packed.size());
    int status = Z_OK;
    // Grow as bytes come, since `count` may be far more than there is.
    while (status == Z_OK && result.bytes.size() < count) {
        const std::size_t had = result.bytes.size();
        const std::size_t more = std::min(count - had, std::max<std::size_t>(had, 65536));
        result.bytes.resize(had + more);
        stream.next_out = reinterpret_cast<Bytef*>(result.bytes.data() + had);
        stream.avail_out = static_cast<uInt>(more);
        status = inflate(&stream, Z_NO_FLUSH);
        result.bytes.resize(had + more - stream.avail_out);
        if (stream.avail_in == 0 && stream.avail_out > 0) break;
    }
    inflateEnd(&stream);
    if (status != Z_OK && status != Z_STREAM_END && status != Z_BUF_ERROR) return std::nullopt;
    result.complete = result.bytes.size() < count || status == Z_STREAM_END;
    return result;
}

}  // namespace

FileBytes::FileBytes(const std::filesystem::path& path) {
    // O_NONBLOCK: a named pipe in the folder must not hold us up.
    fd_ = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat info{};
    if (fd_ >= 0 && (::fstat(fd_, &info) != 0 || !S_ISREG(info.st_mode))) {
        ::close(fd_);
        fd_ = -1;
    }
    size_ = fd_ >= 0 ? std::uint64_t(info.st_size) : 0;
}

FileBytes::~FileBytes() {
    if (fd_ >= 0) ::close(fd_);
}

std::size_t FileBytes::read(void* to, std::size_t count, std::uint64_t offset) const {
    std::size_t done = 0;
    while (done < count) {
        const ssize_t n =
            ::pread(fd_, static_cast<char*>(to) + done, count - done, off_t(offset + done));
        if (n < 0 && errno == EINTR) continue;
        if (n <= 0) break;
        done += std::size_t(n);
    }
    return done;
}

std::optional<DicomBytes> dicom_bytes(const FileBytes& file, std::size_t count) {
    DicomBytes result;
    result.bytes.resize(std::min<std::uint64_t>(count, file.size()));
    if (file.read(result.bytes.data(), result.bytes.size(), 0) != result.bytes.size())
        return std::nullopt;
    result.complete = result.bytes.size() == file.size();
    const auto start = start_of_deflated(result.bytes);
    if (!start) return result;
    constexpr std::uint64_t largest_deflated = std::uint64_t{1} << 31;
    if (file.size() < *start || file.size() > largest_deflated) return std::nullopt;
    std::string packed(file.size() - *start, '\0');
    if (file.read(packed.data(), packed.size(), *start) != packed.size()) return std::nullopt;
    return inflate_some(packed, count);
}

}  // namespace anfract
