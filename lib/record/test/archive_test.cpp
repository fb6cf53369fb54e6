#include "anfract/record/archive.h"

#include <gmock/gmock.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/record/hash.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
namespace fs = std::filesystem;

json batch_of(const char* id) {
    return {{"entries",
             {{{"entry_id", std::string("00000000-0000-4000-8000-00000000000") + id},
               {"at", "2026-01-31T12:00:00Z"},
               {"kind", "note"},
               {"text", "Größe 20"}}}}};
}

class ArchiveTest : public RecordTest {
  protected:
    void SetUp() override {
        RecordTest::SetUp();
        id_ = new_case("first", "{\"tooth\": 1}");
        new_case("second", "{\"tooth\": 2}");
        ASSERT_TRUE(record_->log().append(id_, batch_of("1"), ""));
        ASSERT_TRUE(record_->log().append(id_, batch_of("2"), ""));
        ASSERT_TRUE(record_->notes().save(id_, 0, {{"prognosis", "good"}}, ""));
        ASSERT_TRUE(record_->cases().add_file(
            id_, {"picture", std::string("\x00\xff\x01", 3), "a.png", "image/png"}, ""));
    }
    std::string refusal(const fs::path& from) {
        const auto restored = restore(from, RecordPlace::below(other()));
        return restored ? "restored" : restored.error().sentence();
    }
    fs::path other() {
        const fs::path folder = root_ / "other";
        fs::create_directories(folder);
        return folder;
    }
    fs::path kept_ = root_ / "kept";
    std::string id_;
};

TEST_F(ArchiveTest, ComesBackByteForByte) {
    const auto made = backup(*record_, kept_);
    ASSERT_TRUE(made) << made.error().sentence();
    EXPECT_EQ(made->files, 3);
    const auto restored = restore(kept_, RecordPlace::below(other()));
    ASSERT_TRUE(restored) << restored.error().sentence();
    EXPECT_EQ(restored->rows, made->rows);
    const auto again = Record::open(RecordPlace::below(other()));
    ASSERT_TRUE(again);
    ASSERT_TRUE(backup(**again, root_ / "kept again"));
    EXPECT_EQ(read_file(kept_ / "rows.jsonl").value(),
              read_file(root_ / "kept again" / "rows.jsonl").value());
    for (const std::string& hash : record_->vault().list())
        EXPECT_EQ((*again)->vault().get(hash).value(), record_->vault().get(hash).value());
    EXPECT_EQ((*again)->log().entries(id_).value(), record_->log().entries(id_).value());
    EXPECT_THAT(check(**again)->problems, IsEmpty());
}

TEST_F(ArchiveTest, RefusesADamagedBackupAndAPlaceThatIsTaken) {
    EXPECT_THAT(refusal(root_ / "none"), HasSubstr("manifest.json"));
    ASSERT_TRUE(backup(*record_, kept_));
    const auto twice = backup(*record_, kept_);
    ASSERT_FALSE(twice);
    EXPECT_THAT(twice.error().sentence(), HasSubstr("something already"));

    const std::string hash = sha256_hex("{\"tooth\": 1}");
    const fs::path file = kept_ / "files" / hash.substr(0, 2) / hash.substr(2);
    std::ofstream(file) << "{\"tooth\": 7}";
    EXPECT_THAT(refusal(kept_), HasSubstr("has changed"));
    std::ofstream(file) << "{\"tooth\": 1}";
    const std::string rows = read_file(kept_ / "rows.jsonl").value();
    std::ofstream(kept_ / "rows.jsonl") << rows.substr(0, rows.size() / 2);
    EXPECT_THAT(refusal(kept_), HasSubstr("has changed since the backup"));
    std::ofstream(kept_ / "rows.jsonl") << rows;
    const auto over = restore(kept_, RecordPlace::below(root_));
    ASSERT_FALSE(over);
    EXPECT_THAT(over.error().sentence(), HasSubstr("is not empty"));
    EXPECT_EQ(refusal(kept_), "restored");
}

TEST_F(ArchiveTest, FindsWhatWasChangedBehindItsBack) {
    EXPECT_THAT(check(*record_)->problems, IsEmpty());
    EXPECT_EQ(check(*record_)->entries, 2);
    ASSERT_TRUE(record_->vault().put("left by a killed writer"));
    EXPECT_EQ(check(*record_)->unnamed_files, 1);
    EXPECT_THAT(check(*record_)->problems, IsEmpty());
    std::ofstream(record_->vault().path(sha256_hex("{\"tooth\": 2}"))) << "{}";
    fs::remove(record_->vault().path(sha256_hex("{\"tooth\": 1}")));
    EXPECT_EQ(check(*record_)->problems.size(), 2u);
}

TEST_F(ArchiveTest, FindsAChangedLogEntry) {
    ASSERT_TRUE(
        change_database("UPDATE log_entries SET sent = replace(sent, '20', '25') "
                        "WHERE sequence = 1"));
    const auto report = check(*record_);
    ASSERT_EQ(report->problems.size(), 1u);
    EXPECT_THAT(report->problems[0], HasSubstr("broken at entry 1"));
}

TEST_F(ArchiveTest, StopsWhenAskedAndLeavesNothing) {
    Progress progress;
    progress.cancel();
    const auto made = backup(*record_, kept_, progress);
    ASSERT_FALSE(made);
    EXPECT_EQ(made.error().code, ErrorCode::Cancelled);
    for (const auto& entry : fs::directory_iterator(root_))
        EXPECT_THAT(entry.path().filename().string(), ::testing::Not(HasSubstr("kept")));
}

}  // namespace
}  // namespace anfract::record
