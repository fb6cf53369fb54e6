// Accounts and the record of a case from the command line.

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <pty.h>
#include <termios.h>

#include <chrono>
#include <thread>

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

TEST_F(AccountCommand, ShowsWhatIsTypedAgainAfterCtrlCAtThePassword) {
    const std::string data = (scratch_.path() / "data").string();
    int keyboard = -1;
    const pid_t child = ::forkpty(&keyboard, nullptr, nullptr, nullptr);
    if (child == 0) {
        ::execl(ANFRACT_PROGRAM, "anfract", "account", "add", "ada", "--role", "reader", "--data",
                data.c_str(), nullptr);
        ::_exit(127);
    }
    ASSERT_GT(child, 0);
    const int terminal = ::open(::ptsname(keyboard), O_RDWR | O_NOCTTY);  // outlives the program
    const auto hidden = [&] {
        termios now{};
        return ::tcgetattr(terminal, &now) == 0 && (now.c_lflag & ECHO) == 0;
    };
    for (int n = 0; n < 200 && !hidden(); ++n)
        std::this_thread::sleep_for(std::chrono::milliseconds(50));
    EXPECT_TRUE(hidden()) << "while the password is typed";
    ASSERT_EQ(::write(keyboard, "\x03", 1), 1);
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    EXPECT_EQ(WIFEXITED(status) ? WEXITSTATUS(status) : -1, 1);
    EXPECT_FALSE(hidden()) << "after Ctrl-C";
    ::close(terminal);
    ::close(keyboard);
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
    // Each look is in the trail, with the user of the machine.
    const std::string trail = run("account trail --data $D/data").out;
    EXPECT_THAT(trail, HasSubstr("(command line)"));
    EXPECT_THAT(trail, HasSubstr("case show"));
    EXPECT_THAT(trail, HasSubstr(id));
}

}  // namespace
}  // namespace anfract::cli
