#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "anfract/base/file.h"
#include "anfract/base/json_document.h"
#include "anfract/record/case_archive.h"
#include "anfract/record/hash.h"
#include "anfract/record/zip_file.h"
#include "archived_row.h"
#include "case_rows.h"
#include "rows.h"

namespace anfract::record {
namespace fs = std::filesystem;
using nlohmann::json;
using soci::into;
using soci::use;

namespace {

constexpr std::uint64_t manifest_limit_bytes = 32u << 20, rows_limit_bytes = 1u << 30;
/// Scans and documents pack by less than ten; a zip of one letter by a thousand.
constexpr std::uint64_t most_packed = 100, always_allowed_bytes = 16u << 20;

tl::unexpected<Error> damaged(const std::string& what, const fs::path& where) {
    return fail(ErrorCode::BadInput, what, where.string(), "ask for the archive again");
}

}  // namespace

struct CaseArchive::Content {
    fs::path zip, folder;
    std::string case_id, scan_id, rows;
    std::int64_t bytes = 0;
    std::map<std::string, fs::path> files;  ///< of the vault, by SHA-256
    std::vector<BesideFile> beside;

    int lock = -1;  ///< on the folder, while it is used

    Content() = default;
    Content(const Content&) = delete;
    Content& operator=(const Content&) = delete;
    ~Content() {
        std::error_code error;
        if (!folder.empty()) fs::remove_all(folder, error);
        if (lock >= 0) ::close(lock);
    }
    Result<void> take_out(const ZipReader& from, const json& entries, const Progress& progress);
};

namespace {

constexpr const char* own_prefix = ".importing-";

/// Folders whose importer was killed; a living one holds the lock on its own.
void remove_abandoned(const fs::path& near) {
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(near, error)) {
        if (!entry.path().filename().string().starts_with(own_prefix)) continue;
        const int lock = ::open(entry.path().c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
        if (lock < 0) continue;
        if (::flock(lock, LOCK_EX | LOCK_NB) == 0) fs::remove_all(entry, error);
        ::close(lock);
    }
}

Result<json> manifest_of(const ZipReader& zip, const fs::path& place) {
    const Result<std::string> text = zip.text("manifest.json", manifest_limit_bytes);
    if (!text) {
        return fail(ErrorCode::BadInput, "is not the archive of a case", place.string(),
                    "give a file that 'anfract archive export' wrote");
    }
    Result<json> manifest =
        parse_document(*text, "anfract.archive", place.string() + ", manifest.json");
    if (!manifest) return manifest;
    if (manifest->at("schema_step") > Store::newest_step()) {
        return fail(ErrorCode::BadInput, "was made by a newer program", place.string(),
                    "import it with that program");
    }
    return manifest;
}

/// The manifest names the files of the zip, all of them and no others, and what they unpack to is
/// within reason.
Result<void> check_entries(const ZipReader& zip, const json& manifest, const fs::path& place,
                           const fs::path& near) {
    Result<std::map<std::string, std::uint64_t>> names = zip.names();
    if (!names) return tl::unexpected(names.error());
    names->erase("manifest.json");
    std::error_code error;
    const std::uint64_t packed = fs::file_size(place, error);
    const std::uint64_t limit = always_allowed_bytes + packed * most_packed;
    std::uint64_t whole = 0;
    for (const json& entry : manifest.at("entries")) {
        const std::string name = entry.at("name");
        const auto found = names->find(name);
        if (found == names->end()) return damaged("lacks the file '" + name + "'", place);
        const auto bytes = entry.at("bytes").get<std::uint64_t>();
        if (found->second != bytes)
            return damaged("the file '" + name + "' has not the size the manifest says", place);
        if (bytes > limit || (whole += bytes) > limit)
            return damaged("unpacks to far more than a case", place);
        names->erase(found);
    }
    if (!names->empty())
        return damaged("holds '" + names->begin()->first + "', which the manifest does not name",
                       place);
    if (fs::space(near, error).available < whole && !error) {
        return fail(ErrorCode::NoRoom, "does not fit on the disk", near.string(),
                    "make room on the disk and try again");
    }
    return {};
}

Result<void> unpack(const ZipReader& zip, const json& entry, const fs::path& to,
                    const fs::path& place) {
    const std::string name = entry.at("name");
    std::error_code error;
    fs::create_directories(to.parent_path(), error);
    std::ofstream file(to, std::ios::binary | std::ios::trunc);
    ::chmod(to.c_str(), 0600);
    const auto read =
        zip.read(name, entry.at("bytes"), [&](std::string_view piece) -> Result<void> {
            if (file.write(piece.data(), std::streamsize(piece.size()))) return {};
            return fail(ErrorCode::NoRoom, "cannot be unpacked", place.string(),
                        "make room on the disk and try again");
        });
    if (!read) return read;
    file.close();
    if (!file)
        return fail(ErrorCode::NoRoom, "cannot be unpacked", place.string(),
                    "make room on the disk and try again");
    const Result<std::string> hash = sha256_of_file(to);
    if (!hash) return tl::unexpected(hash.error());
    if (entry.at("sha256") != json(*hash))
        return damaged("the file '" + name + "' has changed since it was archived", place);
    return {};
}

/// The log has its chain, and, since that may be made up, entries that can be read.
Result<void> check_log(const Store& store, const std::string& case_id, const fs::path& place) {
    const auto entries = TreatmentLog(store).entries(case_id, TreatmentLog::AlsoSetAside::Yes);
    if (!entries) return tl::unexpected(entries.error());
    if (const int broken = first_broken_link(case_id, *entries); broken >= 0)
        return damaged("the log does not fit together at entry " + std::to_string(broken + 1),
                       place);
    auto good = check_logged(*entries);
    if (!good) good.error().where = place.string() + ", " + good.error().where;
    return good;
}

/// The rows in a database of their own at the step they were written at, then brought forward.
Result<std::string> rows_brought_forward(const fs::path& database, const std::string& rows,
                                         int step, const std::string& case_id,
                                         const fs::path& place) {
    const std::string address = "sqlite:" + database.string();
    {
        const auto store = Store::open(address, step);
        if (!store) return tl::unexpected(store.error());
        const auto filled = (*store)->write([&](soci::session& sql) -> Result<void> {
            for (const std::string& line : lines_of(rows)) {
                if (auto row = write_row(sql, step, line); !row)
                    return damaged("holds a row that fits no table", place);
            }
            const auto back = case_rows(**store, sql, step, case_id, true);
            if (!back) return tl::unexpected(back.error());
            if (*back != rows) return damaged("holds rows of something else than its case", place);
            return {};
        });
        if (!filled) {
            // A row that the schema's own rules refuse is the archive's fault, not the disk's.
            if (filled.error().code == ErrorCode::Io)
                return damaged("holds rows that contradict each other", place);
            return tl::unexpected(filled.error());
        }
        // What brings it forward reads the log.
        if (auto good = check_log(**store, case_id, place); !good)
            return tl::unexpected(good.error());
    }
    const auto store = Store::open(address);
    if (!store) return tl::unexpected(store.error());
    return (*store)->read([&](soci::session& sql) {
        return case_rows(**store, sql, Store::newest_step(), case_id, true);
    });
}

/// Each file that a row names is there, and each row could have been stored here.
Result<void> check_contents(const std::string& rows, const std::map<std::string, fs::path>& files,
                            const fs::path& place) {
    for (const std::string& line : lines_of(rows)) {
        const json row = json::parse(line);
        const std::string table = row[0];
        if (auto good = check_archived_row(row, place.string()); !good) return good;
        const std::string hash = table == "case_files" ? row[8] : table == "scans" ? row[5] : "";
        if (hash.empty()) continue;
        if (!files.contains(hash)) return damaged("lacks a file that its rows name", place);
    }
    return {};
}

Result<void> insert_new_items(soci::session& sql, const std::vector<std::string>& lines) {
    const int step = Store::newest_step();
    std::set<std::string> fresh;
    long long sequence = 0;
    sql << "SELECT COALESCE(MAX(sequence), 0) FROM stock_movements", into(sequence);
    for (const std::string& line : lines) {
        json row = json::parse(line);
        const std::string table = row[0];
        if (table == "scans" || table == "stock_items") {
            const std::string id = row[1];
            long long there = 0;
            sql << "SELECT COUNT(*) FROM " + table + " WHERE id = :id", use(id), into(there);
            if (there > 0) continue;
            if (table == "stock_items") fresh.insert(id);
        } else if (table == "stock_movements") {
            if (!fresh.contains(row[2])) continue;
            row[1] = ++sequence;
        } else {
            continue;
        }
        // An older program's archive, or one that lies, names a place on this machine.
        if (auto done = write_row(sql, step, portable_row(row.dump())); !done) return done;
    }
    return {};
}

}  // namespace

/// Every file of the zip into the private folder, each checked against its hash.
Result<void> CaseArchive::Content::take_out(const ZipReader& from, const json& entries,
                                            const Progress& progress) {
    std::size_t number = 0;
    for (const json& entry : entries) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
        progress.report(double(number) / double(entries.size()), "unpacking and checking");
        const std::string name = entry.at("name");
        const bool lies_beside = name.starts_with("beside/");
        const fs::path to = lies_beside ? folder / name : folder / std::to_string(number);
        ++number;
        if (name == "rows.jsonl") {
            auto text = from.text(name, rows_limit_bytes);
            if (!text) return tl::unexpected(text.error());
            if (entry.at("sha256") != json(sha256_hex(*text)))
                return damaged("the file 'rows.jsonl' has changed since it was archived", zip);
            rows = std::move(*text);
            continue;
        }
        if (auto done = unpack(from, entry, to, zip); !done) return done;
        bytes += entry.at("bytes").get<std::int64_t>();
        if (lies_beside) {
            beside.push_back({name.substr(7), to});
        } else {
            files[entry.at("sha256")] = to;
        }
    }
    return {};
}

CaseArchive::CaseArchive(std::unique_ptr<Content> content) : content_(std::move(content)) {}
CaseArchive::~CaseArchive() = default;
const std::string& CaseArchive::case_id() const { return content_->case_id; }
const std::string& CaseArchive::scan_id() const { return content_->scan_id; }
const std::vector<BesideFile>& CaseArchive::beside() const { return content_->beside; }

Result<std::unique_ptr<CaseArchive>> CaseArchive::open(const fs::path& place, const fs::path& near,
                                                       const Progress& progress) {
    const Result<ZipReader> zip = ZipReader::open(place);
    if (!zip) return tl::unexpected(zip.error());
    const Result<json> manifest = manifest_of(*zip, place);
    if (!manifest) return tl::unexpected(manifest.error());
    if (auto good = check_entries(*zip, *manifest, place, near); !good)
        return tl::unexpected(good.error());

    auto content = std::make_unique<Content>();
    content->zip = place;
    content->case_id = manifest->at("case");
    remove_abandoned(near);
    const fs::path folder = near / (own_prefix + random_hex(4));
    if (::mkdir(folder.c_str(), 0700) != 0)
        return fail(ErrorCode::Io, "a folder cannot be made there", near.string(),
                    "check the rights and the disk");
    content->folder = folder;
    content->lock = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (content->lock >= 0) ::flock(content->lock, LOCK_EX);
    if (auto done = content->take_out(*zip, manifest->at("entries"), progress); !done)
        return tl::unexpected(done.error());
    auto rows = rows_brought_forward(folder / "rows.sqlite", content->rows,
                                     manifest->at("schema_step"), content->case_id, place);
    if (!rows) return tl::unexpected(rows.error());
    if (lines_of(*rows).empty()) return damaged("holds no case", place);
    content->rows = std::move(*rows);
    // The first row is that of the case: id, created, scan, ...
    content->scan_id = json::parse(lines_of(content->rows).front())[3];
    if (auto good = check_contents(content->rows, content->files, place); !good)
        return tl::unexpected(good.error());
    return std::unique_ptr<CaseArchive>(new CaseArchive(std::move(content)));
}

Result<CaseArchiveReport> CaseArchive::put_into(const Record& record) const {
    CaseArchiveReport report;
    report.case_id = content_->case_id;
    report.files = std::int64_t(content_->files.size() + content_->beside.size());
    report.bytes = content_->bytes;
    // First the bytes: a file that no row names is harmless, a row without its file is not.
    for (const auto& [hash, path] : content_->files) {
        const Result<std::string> bytes = read_file(path, std::size_t{1} << 34);
        if (!bytes) return tl::unexpected(bytes.error());
        const Result<std::string> put = record.vault().put(*bytes);
        if (!put) return tl::unexpected(put.error());
    }
    const std::vector<std::string> lines = lines_of(content_->rows);
    report.rows = std::int64_t(lines.size());
    std::string own;
    for (const std::string& line : lines) {
        const std::string table = json::parse(line)[0];
        if (case_share_of(table) == CaseShare::Own) own += line + "\n";
    }
    return record.store().write([&](soci::session& sql) -> Result<CaseArchiveReport> {
        const int step = Store::newest_step();
        const std::string& id = content_->case_id;
        const auto before = case_rows(record.store(), sql, step, id, false);
        if (!before) return tl::unexpected(before.error());
        report.was_there = *before == own;
        if (report.was_there) return report;
        if (!before->empty()) {
            return fail(ErrorCode::Conflict,
                        "case " + id + " is in the record already, with other content",
                        content_->zip.string(), "import it into another data directory");
        }
        if (auto done = insert_new_items(sql, lines); !done) return tl::unexpected(done.error());
        for (const std::string& line : lines_of(own)) {
            if (auto row = write_row(sql, step, line); !row) return tl::unexpected(row.error());
        }
        const auto back = case_rows(record.store(), sql, step, id, false);
        if (!back) return tl::unexpected(back.error());
        if (*back != own) return damaged("does not come back equal", content_->zip);
        return report;
    });
}

}  // namespace anfract::record
