#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/record/archive.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

class MigrationTest : public RecordTest {
  protected:
    /// A record of the first schema with its one file.
    void SetUp() override {
        RecordTest::SetUp();
        record_.reset();
        std::filesystem::remove(root_ / "record.sqlite");
        const auto statements =
            read_file(std::string(ANFRACT_SOURCE_DIR) + "/lib/record/test/first_schema.sql");
        ASSERT_TRUE(statements && change_database(*statements));
        ASSERT_TRUE(FileVault::at(root_ / "files").put("{\"format\":\"anfract.tooth\"}"));
    }
    static constexpr const char* id = "00112233445566aa";
};

TEST_F(MigrationTest, BringsTheFirstSchemaForwardWithoutLoss) {
    open();
    EXPECT_EQ(record_->cases().find(id)->label, "first schema");
    EXPECT_EQ(record_->notes().find(id)->notes["prognosis"], "good");
    const auto entries = record_->log().entries(id).value();
    ASSERT_EQ(entries.size(), 3u);
    // The chain was computed by another program.
    EXPECT_EQ(first_broken_link(id, entries), -1);
    EXPECT_EQ(measured_depths_mm(entries).at("MB"), 19.5);
    EXPECT_THAT(check(*record_)->problems, IsEmpty());
    // And it goes on from there.
    ASSERT_TRUE(record_->log().append(id,
                                      {{"entries",
                                        {{{"entry_id", "00000000-0000-4000-8000-000000000004"},
                                          {"at", "2026-02-01T12:00:00Z"},
                                          {"kind", "note"}}}}},
                                      ""));
    open();  // a second time: nothing is left to be done
    EXPECT_THAT(check(*record_)->problems, IsEmpty());
    // The device that the old log tells of is counted.
    ASSERT_TRUE(record_->stock().put_item({"hand-010-25", {{"id", "hand-010-25"}}, 0}));
    EXPECT_EQ(record_->stock().levels("2026-06-01").value().at(0).times_used, 1);
}

TEST_F(MigrationTest, RefusesANewerRecordAndLeavesItAsItIs) {
    ASSERT_TRUE(change_database("INSERT INTO schema_steps VALUES (99, 'later')"));
    const auto opened = Record::open(RecordPlace::below(root_));
    ASSERT_FALSE(opened);
    EXPECT_THAT(opened.error().sentence(), HasSubstr("newer program"));
    EXPECT_FALSE(change_database("INSERT INTO scans VALUES ('', '', '', '', '')"));
}

}  // namespace
}  // namespace anfract::record
