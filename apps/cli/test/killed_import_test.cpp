// An archive with its scan is taken in by a program that is killed (SIGKILL) at any moment: nothing
// half is there, and the next import ends what was begun.

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>

#include <chrono>
#include <random>
#include <thread>

#include "anfract/record/archive.h"
#include "anfract/record/case_archive.h"
#include "command_line.h"

namespace anfract::cli {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using record::Record;
using record::RecordPlace;
using testing::IsEmpty;

class KilledImport : public testing::Test {
  protected:
    /// A case with 40 entries, a few files, and a scan of 30 slices that lies beside the record.
    void SetUp() override {
        const fs::path from = scratch_.path() / "from";
        fs::create_directories(from / "slices");
        const auto record = Record::open(RecordPlace::below(from)).value();
        id_ = record->cases()
                  .add({"", "", scan_, "36", "killed", true},
                       {"tooth", std::string(200'000, 'a'), "t.json"}, "")
                  ->id;
        for (int i = 0; i < 5; ++i) {
            const std::string paper = "%PDF-" + std::string(100'000, char('a' + i));
            ASSERT_TRUE(
                record->cases().add_file(id_, {"paper", paper, "p.pdf", "application/pdf"}, ""));
        }
        json entries = json::array();
        for (int i = 0; i < 40; ++i) {
            char id[40];
            std::snprintf(id, sizeof id, "00000000-0000-4000-8000-%012d", i);
            entries.push_back({{"entry_id", id}, {"at", "2026-01-31T12:00:00Z"}, {"kind", "note"}});
        }
        ASSERT_TRUE(record->log().append(id_, {{"entries", entries}}, ""));
        std::mt19937 random(20260131);
        std::vector<record::BesideFile> beside;
        ASSERT_TRUE(record->scans().add(
            {scan_, "2026-01-31T12:00:00Z", R"({"path": "slices", "uploaded": false})", "x", ""}));
        for (int i = 0; i < 30; ++i) {
            std::string bytes(60'000, ' ');
            for (char& c : bytes) c = char(random());
            const std::string name = "slice" + std::to_string(i);
            std::ofstream(from / "slices" / name, std::ios::binary) << bytes;
            beside.push_back({"scan/voxels/" + name, from / "slices" / name});
        }
        ASSERT_TRUE(record::export_case(*record, id_, beside, scratch_.path() / "case.zip", {}));
    }

    /// Imports into `data`, killed after a while unless that is negative. True if it got to its
    /// end.
    bool import(const fs::path& data, std::chrono::microseconds after) {
        const std::string zip = (scratch_.path() / "case.zip").string();
        const pid_t child = ::fork();
        if (child == 0) {
            const int quiet = ::open("/dev/null", O_WRONLY);
            ::dup2(quiet, 1);
            ::execl(ANFRACT_PROGRAM, "anfract", "archive", "import", zip.c_str(), "--data",
                    data.c_str(), nullptr);
            ::_exit(127);
        }
        if (after.count() >= 0) {
            std::this_thread::sleep_for(after);
            ::kill(child, SIGKILL);
        }
        int status = 0;
        ::waitpid(child, &status, 0);
        return WIFEXITED(status) && WEXITSTATUS(status) == 0;
    }

    /// The case is there whole or not at all, and so is the scan. True when the case is.
    bool expect_nothing_half(const fs::path& data) {
        if (!fs::exists(data / "record.sqlite")) return false;
        const auto record = Record::open(RecordPlace::below(data)).value();
        EXPECT_THAT(record::check(*record).value().problems, IsEmpty());
        if (!record->cases().find(id_)) {
            EXPECT_THAT(record->cases().list().value(), IsEmpty());
            EXPECT_THAT(record->scans().list().value(), IsEmpty());
            return false;
        }
        EXPECT_EQ(record->log().entries(id_)->size(), 40u);
        EXPECT_EQ(record->cases().files(id_)->size(), 6u);
        return true;
    }

    const std::string scan_ = "0123456789abcdef";
    Scratch scratch_;
    std::string id_;
};

// Six moments in the ordinary run; ANFRACT_KILLS=300 for the long one.
TEST_F(KilledImport, LeavesNothingHalfAndCanBeDoneAgain) {
    const char* wanted = std::getenv("ANFRACT_KILLS");
    const int kills = wanted != nullptr ? std::atoi(wanted) : 6;
    using std::chrono::microseconds;
    const auto begin = std::chrono::steady_clock::now();
    ASSERT_TRUE(import(scratch_.path() / "whole", microseconds(-1)));
    const auto whole =
        std::chrono::duration_cast<microseconds>(std::chrono::steady_clock::now() - begin);
    std::mt19937 random(20260131);
    int with_case = 0, without = 0;
    for (int kill = 0; kill < kills; ++kill) {
        const fs::path data = scratch_.path() / "data";
        fs::remove_all(data);
        (void)import(data, microseconds(random() % std::uint32_t(whole.count() + 1)));
        (expect_nothing_half(data) ? with_case : without) += 1;
        // Every tenth is killed twice before it is let through.
        if (kill % 10 == 0)
            (void)import(data, microseconds(random() % std::uint32_t(whole.count() + 1)));
        ASSERT_TRUE(import(data, microseconds(-1)));
        EXPECT_TRUE(expect_nothing_half(data));
        EXPECT_FALSE(
            Record::open(RecordPlace::below(data)).value()->scans().find(scan_)->sha256.empty());
        EXPECT_TRUE(fs::is_empty(data / "files" / ".arriving"));
        for (const auto& entry : fs::directory_iterator(data))
            EXPECT_FALSE(entry.path().filename().string().starts_with(".")) << entry.path();
    }
    std::printf("%d kills: %d before the case was there, %d after\n", kills, without, with_case);
}

}  // namespace
}  // namespace anfract::cli
