// Accounts and the record of a case from the command line.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "anfract/record/record.h"
#include "command_line.h"

namespace anfract::cli {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

class AccountCommand : public testing::Test {
  protected:
    Outcome run(const std::string& arguments) const {
        return shell(scratch_, "$ANFRACT " + arguments);
    }
    Outcome with_password(const std::string& password, const std::string& arguments) const {
        return shell(scratch_, "echo '" + password + "' | $ANFRACT " + arguments);
    }
    record::RecordPlace place() const {
        return record::RecordPlace::below(scratch_.path() / "data");
    }
    Scratch scratch_;
};

TEST_F(AccountCommand, MakesListsDisablesAndChangesAccounts) {
    const std::string secret = "an invented passphrase";
    const Outcome made = with_password(secret, "account add ada --role clinician --data $D/data");
    EXPECT_EQ(made.code, 0) << made.err;
    EXPECT_THAT(made.out + made.err, Not(HasSubstr(secret)));
    EXPECT_THAT(run("account list --data $D/data").out, HasSubstr("ada  clinician"));
    EXPECT_EQ(run("account disable ada --data $D/data").code, 0);
    EXPECT_THAT(run("account list --data $D/data").out, HasSubstr("disabled"));
    EXPECT_EQ(run("account enable ada --data $D/data").code, 0);
    EXPECT_EQ(run("account role ada --role reader --data $D/data").code, 0);
    EXPECT_EQ(with_password("another passphrase", "account password ada --data $D/data").code, 0);
    const auto record = record::Record::open(place()).value();
    EXPECT_FALSE(record->accounts().verify("ada", secret).value());
    EXPECT_EQ(record->accounts().verify("ada", "another passphrase").value()->role,
              record::Role::Reader);
    EXPECT_THAT(run("account trail --data $D/data").out, IsEmpty());
    EXPECT_EQ(std::filesystem::status(scratch_.path() / "data").permissions(),
              std::filesystem::perms(0700));
    EXPECT_EQ(std::filesystem::status(scratch_.path() / "data" / "record.sqlite").permissions(),
              std::filesystem::perms(0600));
}

TEST_F(AccountCommand, RefusesInOneSentence) {
    EXPECT_THAT(with_password("short", "account add ada --role reader --data $D/data").err,
                HasSubstr("10 to 1024 characters"));
    EXPECT_THAT(with_password("a passphrase", "account add ada --role owner --data $D/data").err,
                HasSubstr("clinician, assistant or reader"));
    EXPECT_THAT(run("account disable nobody --data $D/data").err, HasSubstr("no such account"));
    EXPECT_THAT(run("account list --data $D/none").err, HasSubstr("there is no record"));
    EXPECT_EQ(run("serve --listen 0.0.0.0 --port 0 --data $D/data").code, 1);
    EXPECT_THAT(run("serve --listen 0.0.0.0 --port 0 --data $D/data").err,
                HasSubstr("anfract account add"));
}

TEST_F(AccountCommand, WritesDownWhatBelongsToACase) {
    std::filesystem::create_directories(scratch_.path() / "data");
    const std::string id =
        record::Record::open(place())
            .value()
            ->cases()
            .add({"", "", "", "36", "practice molar", true}, {"tooth", "{}", "tooth.json"}, "")
            ->id;
    const std::string made = R"(echo '{"format":"anfract.case","version":1,"diagnosis":)"
                             R"({"pulpal":"pulp-necrosis"},"referral":{"from":"Dr. Invented"}}' )"
                             R"(> $D/case.json && $ANFRACT )";
    EXPECT_THAT(shell(scratch_, made + "case save " + id + " $D/case.json --data $D/data").out,
                HasSubstr("version 1"));
    EXPECT_THAT(run("case show " + id + " --data $D/data").out, HasSubstr("Dr. Invented"));
    EXPECT_THAT(run("case versions " + id + " --data $D/data").out, HasSubstr("1  "));
    shell(scratch_, "printf '\\211PNG\\r\\n\\032\\n' > $D/a.png; printf x > $D/b.png");
    EXPECT_EQ(run("case add-file " + id + " radiograph $D/a.png --data $D/data").code, 0);
    EXPECT_EQ(run("case add-file " + id + " radiograph $D/b.png --data $D/data").code, 1);
    EXPECT_THAT(run("case files " + id + " --data $D/data").out, HasSubstr("a.png"));
    EXPECT_EQ(run("case get-file " + id + " radiograph $D/c.png --data $D/data").code, 0);
    EXPECT_EQ(shell(scratch_, "cmp $D/a.png $D/c.png").code, 0);
    // A tooth that is none gives no findings, in one sentence.
    EXPECT_EQ(run("case findings " + id + " --data $D/data").code, 1);
}

}  // namespace
}  // namespace anfract::cli
