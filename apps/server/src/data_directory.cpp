#include "data_directory.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "anfract/base/file.h"
#include "anfract/base/json_text.h"

namespace anfract::server {
namespace fs = std::filesystem;
namespace {

Result<void> refuse(const std::string& what, int reason, const fs::path& where,
                    const std::string& remedy) {
    return fail(ErrorCode::Io, what + " (" + std::strerror(reason) + ")", where.string(), remedy);
}

Result<void> make_private_folder(const fs::path& folder) {
    if (::mkdir(folder.c_str(), 0700) != 0 && errno != EEXIST) {
        return refuse("the folder cannot be made", errno, folder,
                      "check the rights or give another one with --data");
    }
    if (!fs::is_directory(folder) || ::access(folder.c_str(), W_OK) != 0) {
        return fail(ErrorCode::Io, "is not a folder that can be written to", folder.string(),
                    "give another one with --data");
    }
    return {};
}

}  // namespace

Result<std::unique_ptr<DataDirectory>> DataDirectory::open(const fs::path& root) {
    std::error_code error;
    if (root.has_parent_path()) fs::create_directories(root.parent_path(), error);
    for (const fs::path& folder : {root, root / "uploads", root / "scans", root / "cases"}) {
        if (auto made = make_private_folder(folder); !made) return tl::unexpected(made.error());
    }
    const fs::path lock_file = root / "lock";
    const int lock = ::open(lock_file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (lock < 0)
        return tl::unexpected(
            refuse("cannot be opened", errno, lock_file, "check the rights").error());
    if (::flock(lock, LOCK_EX | LOCK_NB) != 0) {
        ::close(lock);
        return fail(ErrorCode::Io, "another server is using this data directory", root.string(),
                    "stop it, or give another directory with --data");
    }
    // What an earlier run left half way is of no use to anyone.
    for (const auto& leftover : fs::directory_iterator(root / "uploads", error))
        fs::remove_all(leftover, error);
    for (const fs::path& folder : {root / "scans", root / "cases"}) {
        for (const auto& entry : fs::directory_iterator(folder, error)) {
            if (entry.path().filename().string().starts_with(".new-")) fs::remove_all(entry, error);
        }
    }
    return std::unique_ptr<DataDirectory>(new DataDirectory(root, lock));
}

DataDirectory::~DataDirectory() { ::close(lock_); }

std::string new_id() {
    std::array<unsigned char, 8> bytes{};
    if (::getentropy(bytes.data(), bytes.size()) != 0)
        throw std::runtime_error("the system gives no random numbers");
    std::string id;
    for (const unsigned char byte : bytes) {
        id.push_back("0123456789abcdef"[byte >> 4]);
        id.push_back("0123456789abcdef"[byte & 15]);
    }
    return id;
}

bool is_id(std::string_view text) {
    return text.size() == 16 &&
           text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

std::vector<std::string> ids_below(const fs::path& parent) {
    std::vector<std::string> ids;
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(parent, error)) {
        const std::string name = entry.path().filename().string();
        if (is_id(name) && entry.is_directory(error)) ids.push_back(name);
    }
    return ids;
}

Result<void> write_private(const fs::path& path, std::string_view bytes) {
    return write_file_atomically(path, bytes, 0600);
}

Result<nlohmann::json> read_json(const fs::path& path) {
    const Result<std::string> text = read_file(path);
    if (!text) return tl::unexpected(text.error());
    Result<nlohmann::json> parsed = parse_json(*text, path.string());
    if (!parsed) parsed.error().remedy = "restore or remove it";
    return parsed;
}

std::string utc_now() {
    const std::time_t now = std::time(nullptr);
    std::tm utc{};
    gmtime_r(&now, &utc);
    std::array<char, 32> text{};
    std::strftime(text.data(), text.size(), "%Y-%m-%dT%H:%M:%SZ", &utc);
    return text.data();
}

}  // namespace anfract::server
