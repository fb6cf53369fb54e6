#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/record/archive.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;

using KeptScansTest = RecordTest;

TEST_F(KeptScansTest, ScansAndTraysAreInABackupByteForByte) {
    const std::string bytes(3'000'000, 's');
    const std::string hash = record_->vault().put(bytes).value();
    ASSERT_TRUE(record_->scans().add({"aa", "2026-01-31T12:00:00Z", "{}", "scan.nii", hash}));
    ASSERT_TRUE(record_->scans().add({"bb", "2026-01-31T13:00:00Z", "{}", "outside", ""}));
    ASSERT_TRUE(record_->trays().add("{\"devices\": 1}", "ada"));
    ASSERT_TRUE(record_->trays().add("{\"devices\": 2}", "ada"));
    ASSERT_TRUE(backup(*record_, root_ / "kept"));
    const RecordPlace other = RecordPlace::below(root_ / "other");
    std::filesystem::create_directories(root_ / "other");
    ASSERT_TRUE(restore(root_ / "kept", other));
    const auto restored = Record::open(other).value();
    EXPECT_EQ(restored->vault().get(restored->scans().find("aa")->sha256).value(), bytes);
    EXPECT_EQ(restored->scans().list().value().at(0).id, "bb");  // latest first
    EXPECT_EQ(restored->trays().newest().value().value(), "{\"devices\": 2}");
    EXPECT_THAT(check(*restored).value().problems, IsEmpty());
}

TEST_F(KeptScansTest, ADamagedScanIsFoundAndNotBackedUp) {
    const std::string hash = record_->vault().put("voxels").value();
    ASSERT_TRUE(record_->scans().add({"aa", "2026-01-31T12:00:00Z", "{}", "scan.nii", hash}));
    ASSERT_TRUE(write_file_atomically(record_->vault().path(hash), "voxelz"));
    EXPECT_EQ(check(*record_).value().problems.size(), 1u);
    const auto kept = backup(*record_, root_ / "kept");
    ASSERT_FALSE(kept);
    EXPECT_THAT(kept.error().sentence(), HasSubstr("has changed"));
    EXPECT_FALSE(std::filesystem::exists(root_ / "kept"));
}

TEST_F(KeptScansTest, AFileIsLetGoOnlyWhenNobodyNamesIt) {
    const std::string hash = record_->vault().put("voxels").value();
    ASSERT_TRUE(record_->scans().add({"aa", "2026-01-31T12:00:00Z", "{}", "scan.nii", hash}));
    ASSERT_TRUE(record_->scans().add({"bb", "2026-01-31T12:00:00Z", "{}", "scan.nii", hash}));
    EXPECT_FALSE(record_->scans().add({"bb", "", "", "", ""}));
    EXPECT_FALSE(record_->scans().remove("aa").value());
    EXPECT_TRUE(record_->scans().remove("bb").value());
    EXPECT_FALSE(record_->scans().remove("bb"));
    EXPECT_FALSE(record_->scans().remove(""));
    EXPECT_TRUE(record_->vault().get(hash));
    record_->vault().discard(hash);
    EXPECT_FALSE(record_->vault().get(hash));
}

}  // namespace
}  // namespace anfract::record
