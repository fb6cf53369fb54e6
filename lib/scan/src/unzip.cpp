#include "unzip.h"

#include <fcntl.h>
#include <unistd.h>
#include <zip.h>

#include <cstdlib>
#include <map>
#include <memory>
#include <string>
#include <system_error>
#include <vector>

namespace anfract {
namespace {

constexpr zip_int64_t most_entries = 50000;
constexpr std::uint64_t most_bytes = std::uint64_t{6} << 30;
/// Deflate reaches 1032:1 on zeros; real scans, even with much air, stay far below this.
constexpr std::uint64_t highest_ratio = 100;
/// Small zips may be emptier than that without harm.
constexpr std::uint64_t always_allowed_bytes = std::uint64_t{64} << 20;

using Archive = std::unique_ptr<zip_t, decltype(&zip_discard)>;
using Entry = std::unique_ptr<zip_file_t, decltype(&zip_fclose)>;

/// The last part of an entry's name if it is an ordinary file name, else empty.
std::string plain_name(const std::string& name) {
    const std::string last = name.substr(name.find_last_of("/\\") + 1);
    if (last.empty() || last[0] == '.' || last.size() > 200) return {};
    for (const char c : last) {
        if (static_cast<unsigned char>(c) < 32 || c == ':') return {};
    }
    return last;
}

/// Inflates one entry into `to`; `left` counts down the bytes that may still be written.
std::string inflate_entry(zip_file_t* entry, const std::filesystem::path& to, std::uint64_t& left) {
    const int fd = ::open(to.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0) return "its contents cannot be written to the temporary folder";
    std::vector<char> buffer(std::size_t{1} << 20);
    std::string complaint;
    for (;;) {
        const zip_int64_t n = zip_fread(entry, buffer.data(), buffer.size());
        if (n == 0) break;
        if (n < 0) {
            complaint = "it is damaged";
            break;
        }
        if (std::uint64_t(n) > left) {
            complaint = "it unpacks to far more than a scan";
            break;
        }
        left -= std::uint64_t(n);
        if (::write(fd, buffer.data(), std::size_t(n)) != ssize_t(n)) {
            complaint =
                "its contents cannot be written to the temporary folder, perhaps the disk is full";
            break;
        }
    }
    ::close(fd);
    return complaint;
}

}  // namespace

Result<TemporaryFolder> TemporaryFolder::make() {
    std::error_code error;
    const std::filesystem::path base = std::filesystem::temp_directory_path(error);
    std::string name = (error ? std::filesystem::path("/tmp") : base) / "anfract-XXXXXX";
    // mkdtemp makes the folder readable for this user only.
    if (::mkdtemp(name.data()) == nullptr) {
        return fail(ErrorCode::Io, "no temporary folder can be made", name,
                    "check the rights and the space");
    }
    return TemporaryFolder(name);
}

TemporaryFolder::~TemporaryFolder() {
    if (path_.empty()) return;
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
}

Result<TemporaryFolder> unzip(const std::filesystem::path& zip, const Progress& progress) {
    const auto refuse = [&](std::string what, std::string remedy = "pack the scan again") {
        return fail(ErrorCode::BadInput, std::move(what), zip.string(), std::move(remedy));
    };
    int code = 0;
    const Archive archive(zip_open(zip.c_str(), ZIP_RDONLY, &code), zip_discard);
    if (!archive) return refuse("it is not a zip that can be opened");
    const zip_int64_t entries = zip_get_num_entries(archive.get(), 0);
    if (entries > most_entries) return refuse("it holds " + std::to_string(entries) + " files");
    std::error_code error;
    const std::uint64_t packed = std::filesystem::file_size(zip, error);
    std::uint64_t left =
        std::min(most_bytes, std::max(always_allowed_bytes, error ? 0 : packed * highest_ratio));
    auto folder = TemporaryFolder::make();
    if (!folder) return folder;
    // Files that lay together stay together, since a detached NRRD header names its data file.
    std::map<std::string, std::filesystem::path> folders;
    for (zip_int64_t n = 0; n < entries; ++n) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "reading was stopped");
        progress.report(0.2 * double(n) / double(entries), "unpacking");
        zip_stat_t info;
        if (zip_stat_index(archive.get(), zip_uint64_t(n), 0, &info) != 0)
            return refuse("it is damaged");
        const std::string name = info.name != nullptr ? info.name : "";
        if (!name.empty() && name.back() == '/') continue;
        const std::string last = plain_name(name);
        if (last.empty()) continue;
        if ((info.valid & ZIP_STAT_ENCRYPTION_METHOD) != 0 &&
            info.encryption_method != ZIP_EM_NONE) {
            return refuse("it is protected by a password",
                          "unpack it yourself and give the folder");
        }
        auto& in = folders[name.substr(0, name.size() - last.size())];
        if (in.empty()) {
            in = folder->path() / std::to_string(folders.size());
            if (!std::filesystem::create_directory(in, error))
                return refuse("it cannot be unpacked");
        }
        std::filesystem::path to = in / last;
        // A name that comes twice, or differs from a number made up here, gets the entry's number.
        if (std::filesystem::exists(to, error)) to = in / (std::to_string(n) + "-" + last);
        const Entry entry(zip_fopen_index(archive.get(), zip_uint64_t(n), 0), zip_fclose);
        if (!entry) return refuse("'" + last + "' in it cannot be unpacked");
        const std::string complaint = inflate_entry(entry.get(), to, left);
        if (!complaint.empty()) return refuse(complaint, "pack the scan again or give its folder");
    }
    return folder;
}

}  // namespace anfract
