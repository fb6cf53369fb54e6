#include <gmock/gmock.h>
#include <sys/mount.h>
#include <sys/wait.h>

#include <chrono>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>
#include <thread>

#include "anfract/record/archive.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
namespace fs = std::filesystem;

std::string uuid(int number) {
    char text[40];
    std::snprintf(text, sizeof text, "00000000-0000-4000-8000-%012d", number);
    return text;
}

json batch(int number) {
    return {{"entries",
             {{{"entry_id", uuid(number)}, {"at", "2026-01-31T12:00:00Z"}, {"kind", "opened"}}}}};
}

// ---- killed at any moment ----

/// What a program says once it was told that something is stored.
struct Acknowledged {
    char what = ' ';  ///< 'c' a case, 'n' a version of its notes, 'l' a log entry
    char case_id[16] = {};
    std::int64_t number = 0;
};

/// Saves, logs and takes in cases as fast as it can, and says what was acknowledged, until killed.
[[noreturn]] void work_until_killed(const fs::path& root, int pipe, int begin) {
    const auto record = Record::open(RecordPlace::below(root));
    if (!record) ::_exit(1);
    const auto say = [&](char what, const std::string& id, std::int64_t number) {
        Acknowledged said{what, {}, number};
        id.copy(said.case_id, sizeof said.case_id);
        if (::write(pipe, &said, sizeof said) != sizeof said) ::_exit(1);
    };
    for (int number = begin;; ++number) {
        const auto made =
            (*record)->cases().add({"", "", "", "36", "killed", true},
                                   {"tooth", std::string(20000, 'a') + uuid(number)}, "");
        if (!made) ::_exit(1);
        say('c', made->id, 1);
        for (int i = 0; i < 3; ++i) {
            const auto entry = (*record)->log().append(made->id, batch(4 * number + i), "");
            if (!entry) ::_exit(1);
            say('l', made->id, 4 * number + i);
            const auto saved = (*record)->notes().save(made->id, i, {{"prognosis", uuid(i)}}, "");
            if (!saved) ::_exit(1);
            say('n', made->id, i + 1);
        }
    }
}

/// True when what was acknowledged is there.
bool is_there(const Record& record, const Acknowledged& said) {
    const std::string id(said.case_id, sizeof said.case_id);
    if (said.what == 'c') {
        const auto file = record.cases().file(id, "tooth", 1);
        return file && record.vault().get(file->sha256).has_value();
    }
    if (said.what == 'n') return record.notes().find(id, said.number).has_value();
    for (const json& entry : record.log().entries(id).value_or(std::vector<json>())) {
        if (entry.at("entry_id") == uuid(static_cast<int>(said.number))) return true;
    }
    return false;
}

using KilledTest = RecordTest;

// Forty moments in the ordinary run; ANFRACT_KILLS=300 for the long one.
TEST_F(KilledTest, LosesNothingThatWasAcknowledged) {
    const char* wanted = std::getenv("ANFRACT_KILLS");
    const int kills = wanted != nullptr ? std::atoi(wanted) : 40;
    std::mt19937 random(20260131);
    std::size_t acknowledged = 0;
    record_.reset();
    for (int kill = 0; kill < kills; ++kill) {
        int pipe[2] = {};
        ASSERT_EQ(::pipe(pipe), 0);
        const pid_t child = ::fork();
        ASSERT_GE(child, 0);
        if (child == 0) {
            ::close(pipe[0]);
            work_until_killed(root_, pipe[1], kill * 100'000);
        }
        ::close(pipe[1]);
        Acknowledged said;
        std::vector<Acknowledged> all;
        // Counted from the first acknowledgement, or at random while it still opens.
        if (kill % 4 != 0 && ::read(pipe[0], &said, sizeof said) == sizeof said)
            all.push_back(said);
        std::this_thread::sleep_for(std::chrono::microseconds(random() % 40'000));
        ::kill(child, SIGKILL);
        int status = 0;
        ::waitpid(child, &status, 0);
        ASSERT_TRUE(WIFSIGNALED(status)) << "the writer ended by itself";
        while (::read(pipe[0], &said, sizeof said) == sizeof said) all.push_back(said);
        ::close(pipe[0]);
        open();
        for (const Acknowledged& one : all)
            EXPECT_TRUE(is_there(*record_, one)) << one.what << " " << one.number;
        acknowledged += all.size();
        record_.reset();
    }
    open();
    const auto report = check(*record_);
    ASSERT_TRUE(report);
    EXPECT_THAT(report->problems, IsEmpty());
    EXPECT_TRUE(fs::is_empty(root_ / "files" / ".arriving"));
    EXPECT_GT(acknowledged, static_cast<std::size_t>(kills));
    std::printf("%d kills, %zu acknowledged, %ld files that nothing names\n", kills, acknowledged,
                static_cast<long>(report->unnamed_files));
}

// ---- full and read-only disks ----

/// A small disk in memory. Needs the right to mount, as in the containers the tests run in.
class SmallDiskTest : public RecordTest {
  protected:
    void SetUp() override {
        fs::create_directories(root_);
        mounted_ = ::mount("tmpfs", root_.c_str(), "tmpfs", 0, "size=2m") == 0;
        if (!mounted_) GTEST_SKIP() << "there is no right to mount a disk";
        open();
    }
    void TearDown() override {
        record_.reset();
        if (mounted_) ::umount(root_.c_str());
        fs::remove_all(root_);
    }
    bool mounted_ = false;
};

TEST_F(SmallDiskTest, RefusesWhatDoesNotFitAndKeepsTheRest) {
    const std::string id = new_case();
    ASSERT_TRUE(record_->log().append(id, batch(1), ""));
    const auto large = record_->cases().add({"", "", "", "36", "large", true},
                                            {"tooth", std::string(4 << 20, 'x')}, "");
    ASSERT_FALSE(large);
    EXPECT_EQ(large.error().code, ErrorCode::NoRoom);
    EXPECT_THAT(large.error().sentence(), HasSubstr("make room on the disk"));
    EXPECT_TRUE(fs::is_empty(root_ / "files" / ".arriving"));

    int stored = 1;
    Result<std::vector<json>> last;
    do {
        last = record_->log().append(id, batch(stored + 1), "");
        if (last) ++stored;
        // Fills the disk faster than log entries would.
        (void)record_->vault().put(std::string(64 << 10, 'x') + std::to_string(stored));
    } while (last && stored < 2000);
    ASSERT_FALSE(last);
    EXPECT_EQ(last.error().code, ErrorCode::NoRoom) << last.error().sentence();
    EXPECT_THAT(last.error().sentence(), HasSubstr("the disk is full"));
    EXPECT_EQ(record_->log().entries(id)->size(), static_cast<std::size_t>(stored));
    EXPECT_THAT(check(*record_)->problems, IsEmpty());
}

TEST_F(SmallDiskTest, RefusesAReadOnlyDiskInOneSentence) {
    const std::string id = new_case();
    record_.reset();
    ASSERT_EQ(::mount("tmpfs", root_.c_str(), "tmpfs", MS_REMOUNT | MS_RDONLY, "size=2m"), 0);
    const auto opened = Record::open(RecordPlace::below(root_));
    ASSERT_FALSE(opened);
    EXPECT_THAT(opened.error().sentence(), HasSubstr("read-only"));
    ASSERT_EQ(::mount("tmpfs", root_.c_str(), "tmpfs", MS_REMOUNT, "size=2m"), 0);
    open();
    EXPECT_TRUE(record_->cases().find(id));
}

}  // namespace
}  // namespace anfract::record
