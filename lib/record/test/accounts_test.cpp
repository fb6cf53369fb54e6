#include "anfract/record/accounts.h"

#include <gmock/gmock.h>
#include <sodium.h>

#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/record/archive.h"
#include "temporary_record.h"

namespace anfract::record {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

using AccountsTest = RecordTest;
const std::string secret = "correct horse battery";

TEST_F(AccountsTest, KnowsTheRightPasswordFromAllOthers) {
    const Accounts& accounts = record_->accounts();
    EXPECT_FALSE(accounts.find("").value().any);
    ASSERT_TRUE(accounts.add("ada", Role::Clinician, secret));
    EXPECT_TRUE(accounts.find("").value().any);
    ASSERT_TRUE(accounts.verify("ada", secret).value());
    EXPECT_EQ(accounts.verify("ada", secret).value()->role, Role::Clinician);
    for (const std::string& wrong :
         {std::string(), secret + " ", std::string("Correct horse battery"),
          std::string(100'000, 'x'), secret + std::string("\0x", 2)})
        EXPECT_FALSE(accounts.verify("ada", wrong).value());
    EXPECT_FALSE(accounts.verify("nobody", secret).value());
    EXPECT_FALSE(accounts.verify("ada' OR '1'='1", secret).value());
}

TEST_F(AccountsTest, KeepsArgon2idAndNoPassword) {
    ASSERT_TRUE(record_->accounts().add("ada", Role::Reader, secret));
    ASSERT_TRUE(record_->accounts().add("ben", Role::Reader, secret));
    ASSERT_TRUE(backup(*record_, root_ / "kept"));
    const std::string rows = read_file(root_ / "kept" / "rows.jsonl").value();
    EXPECT_THAT(rows, Not(HasSubstr(secret)));
    // RFC 9106, section 4: Argon2id, version 0x13; 64 MiB as libsodium's parameters for sign-in.
    const std::string head = "$argon2id$v=19$m=65536,t=2,p=1$";
    const std::size_t first = rows.find(head), second = rows.find(head, first + 1);
    ASSERT_NE(second, std::string::npos);
    EXPECT_NE(rows.substr(first, 80), rows.substr(second, 80));  // each has a salt of its own
    EXPECT_EQ(std::filesystem::status(root_ / "kept" / "rows.jsonl").permissions(),
              std::filesystem::perms(0600));
}

TEST_F(AccountsTest, DisabledAccountsAndOldPasswordsOpenNothing) {
    const Accounts& accounts = record_->accounts();
    ASSERT_TRUE(accounts.add("ada", Role::Assistant, secret));
    ASSERT_TRUE(accounts.set_disabled("ada", true));
    EXPECT_FALSE(accounts.verify("ada", secret).value());
    // Somebody must still sign in: a practice that disabled its last account is not open to all.
    EXPECT_TRUE(accounts.find("").value().any);
    ASSERT_TRUE(accounts.set_disabled("ada", false));
    ASSERT_TRUE(accounts.set_password("ada", "another passphrase"));
    EXPECT_FALSE(accounts.verify("ada", secret).value());
    EXPECT_TRUE(accounts.verify("ada", "another passphrase").value());
    ASSERT_TRUE(accounts.set_role("ada", Role::Reader));
    EXPECT_EQ(accounts.find("ada").value().account->role, Role::Reader);
}

TEST_F(AccountsTest, RefusesNamesAndPasswordsThatWillNotDo) {
    const Accounts& accounts = record_->accounts();
    for (const char* name : {"", "Ada", "a b", "a/b", "\xc3\xa4"})
        EXPECT_FALSE(accounts.add(name, Role::Reader, secret)) << name;
    EXPECT_FALSE(accounts.add(std::string(65, 'a'), Role::Reader, secret));
    EXPECT_FALSE(accounts.add("ada", Role::Reader, "too short"));
    EXPECT_THAT(accounts.list().value(), IsEmpty());
    ASSERT_TRUE(accounts.add("ada", Role::Reader, secret));
    EXPECT_THAT(accounts.add("ada", Role::Clinician, secret).error().sentence(),
                HasSubstr("of that name"));
    EXPECT_EQ(accounts.set_disabled("ben", true).error().code, ErrorCode::NotFound);
    EXPECT_EQ(accounts.set_password("ben", secret).error().code, ErrorCode::NotFound);
}

}  // namespace
}  // namespace anfract::record
