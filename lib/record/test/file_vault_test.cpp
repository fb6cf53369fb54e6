#include "anfract/record/file_vault.h"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include <fstream>

#include "anfract/base/file.h"
#include "anfract/record/hash.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using FileVaultTest = RecordTest;
namespace fs = std::filesystem;

TEST_F(FileVaultTest, KeepsEqualBytesOnceAndGivesThemBack) {
    const FileVault& vault = record_->vault();
    const auto first = vault.put("voxels"), second = vault.put("voxels"), other = vault.put("");
    ASSERT_TRUE(first && second && other);
    EXPECT_EQ(*first, *second);
    EXPECT_EQ(*first, sha256_hex("voxels"));
    EXPECT_EQ(vault.list().size(), 2u);
    EXPECT_EQ(vault.get(*first).value(), "voxels");
    struct stat info{};
    ASSERT_EQ(::stat(vault.path(*first).c_str(), &info), 0);
    EXPECT_EQ(info.st_mode & 0777, 0600u);
}

TEST_F(FileVaultTest, TakesAFileInByMovingIt) {
    const fs::path file = root_ / "scan.zip";
    ASSERT_TRUE(write_file_atomically(file, "a scan"));
    EXPECT_EQ(record_->vault().take(file).value(), sha256_hex("a scan"));
    EXPECT_FALSE(fs::exists(file));
    EXPECT_EQ(record_->vault().get(sha256_hex("a scan")).value(), "a scan");
}

TEST_F(FileVaultTest, SaysWhenBytesHaveChanged) {
    const std::string hash = record_->vault().put("voxels").value();
    std::ofstream(record_->vault().path(hash), std::ios::binary) << "vOxels";
    const auto read = record_->vault().get(hash);
    ASSERT_FALSE(read);
    EXPECT_THAT(read.error().sentence(), ::testing::HasSubstr("has changed since it was stored"));
}

TEST_F(FileVaultTest, RemovesWhatAKilledWriterLeft) {
    const fs::path left = record_->vault().root() / ".arriving" / "left";
    std::ofstream(left) << "half";
    open();
    EXPECT_FALSE(fs::exists(left));
}

}  // namespace
}  // namespace anfract::record
