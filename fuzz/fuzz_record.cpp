// Any bytes as what is sent to a record, each time a new one: entries of the treatment log, notes,
// the corrections of a traced tooth, a count of the stock as CSV, and the rows of an archive of a
// case whose hashes are all right.
#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "anfract/base/json_text.h"
#include "anfract/record/archive.h"
#include "anfract/record/case_archive.h"
#include "anfract/record/coming_plans.h"
#include "anfract/record/hash.h"
#include "anfract/record/zip_file.h"
#include "forged_log.h"

namespace {

using namespace anfract;
using nlohmann::json;
namespace fs = std::filesystem;

constexpr const char* case_id = "0123456789abcdef";
constexpr const char* first_file = "{}";

void must(bool good) {
    if (!good) std::abort();
}

/// A folder for one input, in memory if there is one of that kind.
class Folder {
  public:
    Folder() {
        std::string name =
            fs::exists("/dev/shm") ? "/dev/shm/anfract-fuzz-XXXXXX" : "/tmp/anfract-fuzz-XXXXXX";
        if (::mkdtemp(name.data()) == nullptr) std::abort();
        path = name;
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() { fs::remove_all(path); }
    fs::path path;
};

std::unique_ptr<record::Record> record_in(const fs::path& folder) {
    auto record = record::Record::open(record::RecordPlace::below(folder));
    if (!record) std::abort();
    return std::move(*record);
}

void must_be_sound(const record::Record& record) {
    const auto report = record::check(record);
    must(report && report->problems.empty());
}

/// Whatever came in with an archive, the pages of the record still open.
void must_be_readable(const record::Record& record) {
    must(record.cases().list().has_value());
    must(record.scans().list().has_value());
    must(record.stock().tray("2026-01-31").has_value());
    const auto coming = record::pieces_of_coming_plans(record);
    must(coming && record.stock().reorder(*coming, "2026-01-31").has_value());
    if (!record.cases().find(case_id)) return;  // set aside
    must(record.cases().files(case_id).has_value());
    must(record.notes().find(case_id).has_value());
    const auto entries = record.log().entries(case_id);
    must(entries.has_value());
    (void)record::measured_depths_mm(*entries);
}

bool take_log(const record::Record& record, const json& document) {
    const auto stored = record.log().append(case_id, document, "fuzz");
    if (stored) (void)record::measured_depths_mm(record.log().entries(case_id).value());
    must_be_sound(record);
    return stored.has_value();
}

bool take_count(const record::Record& record, const std::string& text) {
    must(record.stock().put_item({"a", {{"id", "a"}, {"max_uses", 2}}, 1}).has_value());
    must(record.stock().put_item({"b", {{"id", "b"}}, 0}).has_value());
    const auto lots = record::stock_from_csv(text);
    if (!lots || !record.stock().count(*lots, "")) return false;
    // What was counted can be counted again.
    must(record.stock().count(*lots, "").has_value());
    return record.stock().levels("2026-01-31").has_value();
}

bool take_archive(const fs::path& folder, const std::string& given) {
    const std::string rows = record::test::with_forged_chain(given, case_id);
    // Without a row of a later table it may be of the first program, and is brought forward.
    const bool first = rows.find("[\"s") == std::string::npos;
    const auto entry = [](const char* name, const std::string& bytes) {
        return json{{"name", name}, {"sha256", record::sha256_hex(bytes)}, {"bytes", bytes.size()}};
    };
    const json manifest{{"format", "anfract.archive"},
                        {"version", 1},
                        {"made", "2026-01-31T12:00:00Z"},
                        {"schema_step", first ? 1 : record::Store::newest_step()},
                        {"case", case_id},
                        {"entries", {entry("rows.jsonl", rows), entry("files/a", first_file)}}};
    auto zip = record::ZipWriter::begin(folder / "case.zip");
    must(zip && zip->add("rows.jsonl", rows) && zip->add("files/a", first_file) &&
         zip->add("manifest.json", manifest.dump()) && zip->finish({}));
    const auto archive = record::CaseArchive::open(folder / "case.zip", folder, {});
    if (!archive) return false;
    const auto record = record_in(folder);
    const auto put = (*archive)->put_into(*record);
    if (put) {
        must((*archive)->put_into(*record)->was_there);
        must_be_readable(*record);
    }
    must_be_sound(*record);
    return put.has_value();
}

}  // namespace

/// True if it is stored.
bool is_taken(std::string_view bytes) {
    const std::string text(bytes);
    const Folder folder;
    if (text.starts_with("[")) return take_archive(folder.path, text);
    const auto parsed = parse_json(text, "input");
    const bool is_count = text.starts_with("item,");
    if (!parsed && !is_count) return false;
    const auto record = record_in(folder.path);
    must(record->cases()
             .add({case_id, "2026-01-31T12:00:00Z", "", "36", "", true},
                  {"tooth", first_file, "tooth.json"}, "")
             .has_value());
    if (is_count) return take_count(*record, text);
    const json& document = *parsed;
    if (document.is_object() && document.contains("entries")) return take_log(*record, document);
    return record->notes().save(case_id, 0, document, "fuzz").has_value();
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    (void)is_taken({reinterpret_cast<const char*>(data), size});
    return 0;
}
