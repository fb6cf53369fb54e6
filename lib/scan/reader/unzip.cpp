#include "unzip.h"

#include <zip.h>

#include <map>
#include <memory>
#include <string>
#include <system_error>
#include <vector>

#include "unpacked_folder.h"

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

/// Inflates one entry; `left` counts down the bytes that may still come.
std::string inflate_entry(zip_file_t* entry, UnzipSink& to, std::uint64_t& left) {
    std::vector<char> buffer(std::size_t{1} << 16);
    for (;;) {
        const zip_int64_t n = zip_fread(entry, buffer.data(), buffer.size());
        if (n == 0) return {};
        if (n < 0) return "it is damaged";
        if (std::uint64_t(n) > left) return "it unpacks to far more than a scan";
        left -= std::uint64_t(n);
        to.bytes({buffer.data(), std::size_t(n)});
    }
}

}  // namespace

Result<void> unzip(const std::filesystem::path& zip, UnzipSink& to, const Progress& progress) {
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
    // Files that lay together stay together, since a detached NRRD header names its data file.
    std::map<std::string, std::size_t> folders;
    for (zip_int64_t n = 0; n < entries; ++n) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "reading was stopped");
        progress.report(0.2 * double(n) / double(entries), "unpacking");
        zip_stat_t info;
        if (zip_stat_index(archive.get(), zip_uint64_t(n), 0, &info) != 0)
            return refuse("it is damaged");
        const std::string name = info.name != nullptr ? info.name : "";
        if (!name.empty() && name.back() == '/') continue;
        const std::string last = name.substr(name.find_last_of("/\\") + 1);
        if (!is_plain_name(last)) continue;
        if ((info.valid & ZIP_STAT_ENCRYPTION_METHOD) != 0 &&
            info.encryption_method != ZIP_EM_NONE) {
            return refuse("it is protected by a password",
                          "unpack it yourself and give the folder");
        }
        const std::string in = name.substr(0, name.size() - last.size());
        const std::size_t folder = folders.try_emplace(in, folders.size() + 1).first->second;
        const Entry entry(zip_fopen_index(archive.get(), zip_uint64_t(n), 0), zip_fclose);
        if (!entry) return refuse("'" + last + "' in it cannot be unpacked");
        to.begin(folder, last);
        const std::string complaint = inflate_entry(entry.get(), to, left);
        if (!complaint.empty()) return refuse(complaint, "pack the scan again or give its folder");
    }
    return {};
}

}  // namespace anfract
