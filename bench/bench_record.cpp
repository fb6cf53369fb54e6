// A practice of 10,000 cases: the list, a search, and opening a case, on SQLite.
//
// The cases are invented, each with a tooth file of usual size, its notes and a log of 40 entries
// for one in a hundred. The record lies on a disk in memory where there is one, since making it
// would wait for a real disk 30,000 times; what is timed reads from memory on either. Results are
// checked before they are timed.
#include <benchmark/benchmark.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "anfract/record/record.h"

namespace {

namespace fs = std::filesystem;
using anfract::record::Record;
using nlohmann::json;

constexpr int cases = 10'000;

/// An anfract.tooth document with four canals of 120 samples, about 100 kB.
std::string tooth_text() {
    json canals = json::array();
    for (const char* name : {"MB", "ML", "DB", "DL"}) {
        json depth = json::array(), point = json::array(), diameter = json::array();
        for (int i = 0; i < 120; ++i) {
            depth.push_back(8 + 0.1 * i);
            point.push_back({0.001 * i * i, 0.0371 * i, 8 + 0.0937 * i});
            diameter.push_back(0.7123 - 0.00313 * i);
        }
        canals.push_back({{"name", name},
                          {"orifice_mm", point.front()},
                          {"foramen_mm", point.back()},
                          {"joins", nullptr},
                          {"leaves", nullptr},
                          {"length_mm", 11.9},
                          {"depth_to_foramen_mm", 19.9},
                          {"samples",
                           {{"depth_mm", depth},
                            {"point_mm", point},
                            {"diameter_mm", diameter},
                            {"diameter_sd_mm", diameter},
                            {"diameter_short_mm", diameter},
                            {"diameter_long_mm", diameter},
                            {"wall_min_mm", diameter},
                            {"curvature_per_mm", diameter}}}});
    }
    return json{{"format", "anfract.tooth"}, {"version", 1},
                {"frame", "LPS-mm"},         {"invented", true},
                {"tooth", {{"fdi", "36"}}},  {"reference_mm", {0, 0, 0}},
                {"canals", canals}}
        .dump();
}

/// The record, made once.
struct Practice {
    fs::path root;
    std::unique_ptr<Record> record;

    Practice() {
        std::error_code error;
        const fs::path memory = "/dev/shm";
        root = (fs::is_directory(memory, error) ? memory : fs::temp_directory_path()) /
               ("anfract-bench-record-" + std::to_string(::getpid()));
        fs::create_directories(root);
        record = std::move(*Record::open(anfract::record::RecordPlace::below(root)));
        const std::string tooth = tooth_text();
        for (int i = 0; i < cases; ++i) add(i, tooth);
    }
    ~Practice() {
        record.reset();
        std::error_code error;
        fs::remove_all(root, error);
    }

    void add(int number, const std::string& tooth) {
        char label[40];
        std::snprintf(label, sizeof label, "invented %05d", number);
        const auto made = record->cases().add({"", "", "", number % 2 ? "36" : "16", label, true},
                                              {"tooth", tooth, "tooth.json"}, "");
        if (!made) std::abort();
        const json notes{{"patient", {{"name", "Person " + std::to_string(number)}}},
                         {"diagnosis", {{"pulpal", "pulp-necrosis"}}}};
        if (!record->notes().save(made->id, 0, notes, "")) std::abort();
        if (number % 100 != 0) return;
        json entries = json::array();
        for (int i = 0; i < 40; ++i) {
            char id[40];
            std::snprintf(id, sizeof id, "00000000-0000-4000-8000-%012d", 40 * number + i);
            entries.push_back({{"entry_id", id},
                               {"at", "2026-01-31T12:00:00Z"},
                               {"kind", "step-done"},
                               {"device", "hand-010-25"}});
        }
        if (!record->log().append(made->id, {{"entries", entries}}, "")) std::abort();
    }
};

const Practice& practice() {
    static const Practice made;
    return made;
}
const Record& practice_record() { return *practice().record; }

/// A folder on a real disk, or what the system has for temporary files there.
class DiskFolder {
  public:
    DiskFolder()
        : path(fs::temp_directory_path() / ("anfract-bench-look-" + std::to_string(::getpid()))) {
        fs::create_directories(path);
    }
    DiskFolder(const DiskFolder&) = delete;
    DiskFolder& operator=(const DiskFolder&) = delete;
    ~DiskFolder() {
        std::error_code error;
        fs::remove_all(path, error);
    }
    const fs::path path;
};

void list_all(benchmark::State& state) {
    const Record& record = practice_record();
    if (record.cases().list()->size() != cases) return state.SkipWithError("cases are missing");
    for (auto _ : state) benchmark::DoNotOptimize(record.cases().list());
}
BENCHMARK(list_all)->Unit(benchmark::kMillisecond);

void search(benchmark::State& state) {
    const Record& record = practice_record();
    if (record.cases().list("person 4321 necro")->size() != 1)
        return state.SkipWithError("the search does not find one");
    for (auto _ : state) benchmark::DoNotOptimize(record.cases().list("person 4321 necro"));
}
BENCHMARK(search)->Unit(benchmark::kMillisecond);

std::string case_with_log(const Record& record) {
    const auto all = record.cases().list();
    for (const auto& one : *all) {
        if (record.log().entries(one.id)->size() == 40) return one.id;
    }
    return "";
}

void read_case(const Record& record, const std::string& id) {
    const auto file = record.cases().file(id, "tooth");
    const auto text = record.vault().get(file->sha256);
    benchmark::DoNotOptimize(anfract::parse_document(*text, "anfract.tooth", "tooth"));
    benchmark::DoNotOptimize(record.notes().find(id));
    benchmark::DoNotOptimize(record.log().entries(id));
}

/// All that the page asks for: the case, its tooth read and checked, its notes and its log.
void open_case(benchmark::State& state) {
    const Record& record = practice_record();
    const std::string id = case_with_log(record);
    if (id.empty()) return state.SkipWithError("no case has a log");
    for (auto _ : state) read_case(record, id);
}
BENCHMARK(open_case)->Unit(benchmark::kMillisecond);

/// The same on a real disk, on the clock, with the looks that are recorded before the page has its
/// six answers.
void open_case_on_disk_with_looks(benchmark::State& state) {
    const DiskFolder folder;
    // Making it there would wait for the disk 30,000 times. Nothing is written meanwhile.
    fs::copy(practice().root, folder.path, fs::copy_options::recursive);
    fs::remove(folder.path / "record.sqlite-shm");
    const auto record = Record::open(anfract::record::RecordPlace::below(folder.path)).value();
    const std::string id = case_with_log(*record);
    if (id.empty() || record->cases().list()->size() < cases)
        return state.SkipWithError("cases are missing");
    const anfract::record::Access look{0, "", "ada", "GET /api/cases/{id}", id, "", ""};
    for (auto _ : state) {
        for (int i = 0; i < 6; ++i) {
            if (!record->access().add({look})) state.SkipWithError("a look is not recorded");
        }
        read_case(*record, id);
    }
}
BENCHMARK(open_case_on_disk_with_looks)->Unit(benchmark::kMillisecond)->UseRealTime();

void log_an_entry(benchmark::State& state) {
    const Record& record = practice_record();
    const auto made = record.cases().add({"", "", "", "36", "logged", true}, {"tooth", "{}"}, "");
    int number = 0;
    for (auto _ : state) {
        char id[40];
        std::snprintf(id, sizeof id, "00000000-0000-4000-9000-%012d", number++ % 200);
        benchmark::DoNotOptimize(record.log().append(
            made->id,
            {{"entries", {{{"entry_id", id}, {"at", "2026-01-31T12:00:00Z"}, {"kind", "opened"}}}}},
            ""));
    }
}
BENCHMARK(log_an_entry)->Unit(benchmark::kMillisecond);

/// What each request costs once there are accounts.
void find_account(benchmark::State& state) {
    const Record& record = practice_record();
    (void)record.accounts().add("ada", anfract::record::Role::Reader, "an invented passphrase");
    for (auto _ : state) benchmark::DoNotOptimize(record.accounts().find("ada"));
}
BENCHMARK(find_account)->Unit(benchmark::kMillisecond);

/// What a look at a patient costs beyond what is shown.
void record_a_look(benchmark::State& state) {
    const Record& record = practice_record();
    const anfract::record::Access look{0, "", "ada", "GET /api/cases/{id}", "0123", "", ""};
    for (auto _ : state) benchmark::DoNotOptimize(record.access().add({look}));
}
BENCHMARK(record_a_look)->Unit(benchmark::kMillisecond);

/// The same where it waits for a real disk: on the clock, for the flush is what it costs.
void record_a_look_on_disk(benchmark::State& state) {
    const DiskFolder folder;
    const auto record = Record::open(anfract::record::RecordPlace::below(folder.path)).value();
    const anfract::record::Access look{0, "", "ada", "GET /api/cases/{id}", "0123", "", ""};
    for (auto _ : state) {
        if (!record->access().add({look})) state.SkipWithError("a look is not recorded");
    }
}
BENCHMARK(record_a_look_on_disk)->Unit(benchmark::kMillisecond)->UseRealTime();

void sign_in(benchmark::State& state) {
    const Record& record = practice_record();
    (void)record.accounts().add("ada", anfract::record::Role::Reader, "an invented passphrase");
    for (auto _ : state)
        benchmark::DoNotOptimize(record.accounts().verify("ada", "an invented passphrase"));
}
BENCHMARK(sign_in)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
