// Every mistake a user can make ends in exit code 1, one sentence, and no file.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>

#include "command_line.h"

namespace anfract::cli {
namespace {

using testing::HasSubstr;
using testing::MatchesRegex;

class BadInput : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        scratch_ = new Scratch;
        const Outcome made = run("$ANFRACT phantom lower-molar --out $D/case --seed 1 --voxel 0.2");
        ASSERT_EQ(made.code, 0) << made.err;
        const auto truth = nlohmann::json::parse(slurp(scratch_->path() / "case/truth.json"));
        setenv("INSIDE", point(truth["inside_mm"]).c_str(), 1);
        std::ofstream(scratch_->path() / "tooth.json") << truth["tooth"];
    }
    static void TearDownTestSuite() { delete scratch_; }

    static std::string point(const nlohmann::json& p) {
        return std::to_string(p[0].get<double>()) + "," + std::to_string(p[1].get<double>()) + "," +
               std::to_string(p[2].get<double>());
    }
    static Outcome run(const std::string& command) { return shell(*scratch_, command); }

    /// Runs a command whose result would be $D/result and checks that it is refused in one
    /// sentence.
    static std::string refusal(const std::string& command) {
        const Outcome outcome = run("rm -rf $D/result; " + command);
        EXPECT_EQ(outcome.code, 1) << command << "\n" << outcome.err;
        EXPECT_THAT(outcome.err, MatchesRegex("anfract: [^\n]+\\.\n")) << command;
        EXPECT_EQ(outcome.out, "") << command;
        for (const auto& entry : std::filesystem::directory_iterator(scratch_->path())) {
            EXPECT_THAT(entry.path().filename().string(), testing::Not(HasSubstr("result")))
                << command << " left " << entry.path();
        }
        return outcome.err;
    }

    static Scratch* scratch_;
};
Scratch* BadInput::scratch_ = nullptr;

TEST_F(BadInput, EmptyFolder) {
    EXPECT_THAT(refusal("mkdir -p $D/empty && $ANFRACT survey $D/empty --out $D/result"),
                HasSubstr("empty"));
}

TEST_F(BadInput, NoSuchScan) { refusal("$ANFRACT survey $D/nowhere --out $D/result"); }

TEST_F(BadInput, TextFileNamedDcm) {
    EXPECT_THAT(refusal("mkdir -p $D/text && echo hello > $D/text/a.dcm && "
                        "$ANFRACT survey $D/text --out $D/result"),
                HasSubstr("DICOM"));
}

TEST_F(BadInput, ForeignLettersInAScanAreNoMistake) {
    const Outcome outcome =
        run("rm -rf $D/letters && cp -r $D/case/scan $D/letters && dcmodify -nb -i "
            "'(0008,0005)=ISO_IR 100' "
            "-i \"(0008,103e)=$(printf 'Z\\344hne')\" $D/letters/*.dcm && "
            "$ANFRACT survey $D/letters --out $D/survey.json");
    EXPECT_EQ(outcome.code, 0) << outcome.err;
    EXPECT_EQ(nlohmann::json::parse(slurp(scratch_->path() / "survey.json"))["description"],
              "Z\u00E4hne");
}

TEST_F(BadInput, DocumentNestedWithoutEnd) {
    std::ofstream(scratch_->path() / "deep.json")
        << R"({"format":)" << std::string(300'000, '[') << std::string(300'000, ']') << "}";
    for (const char* command : {"rehearse", "plan", "measure", "fhir"}) {
        EXPECT_THAT(refusal(std::string("$ANFRACT ") + command + " $D/deep.json --out $D/result"),
                    HasSubstr("nested deeper"))
            << command;
    }
}

TEST_F(BadInput, TruncatedFile) {
    refusal(
        "rm -rf $D/cut && cp -r $D/case/scan $D/cut && f=$(ls $D/cut/*.dcm | sed -n 20p) && "
        "truncate -s 3000 $f && $ANFRACT survey $D/cut --out $D/result");
}

TEST_F(BadInput, MissingSliceIsSaidAndNotTraced) {
    EXPECT_THAT(refusal("rm -rf $D/gap && cp -r $D/case/scan $D/gap && "
                        "rm $(ls $D/gap/*.dcm | sed -n 40p) && "
                        "$ANFRACT trace $D/gap --inside=$INSIDE --out $D/result"),
                HasSubstr("missing"));
}

TEST_F(BadInput, TwoSeriesMixed) {
    EXPECT_THAT(
        refusal(
            "$ANFRACT phantom narrowed --out $D/other --seed 2 --voxel 0.25 --force && "
            "rm -rf $D/mixed && cp -r $D/case/scan $D/mixed && cp -r $D/other/scan $D/mixed/b && "
            "$ANFRACT survey $D/mixed --out $D/result"),
        HasSubstr("--series"));
}

TEST_F(BadInput, ClickOutsideTheTooth) {
    EXPECT_THAT(refusal("$ANFRACT trace $D/case/scan --inside 900,900,900 --out $D/result"),
                HasSubstr("--inside: the point lies outside the scan"));
    refusal("$ANFRACT trace $D/case/scan --inside=here --out $D/result");
}

TEST_F(BadInput, IsToldWithTheOptionThatMendsIt) {
    EXPECT_THAT(refusal("$ANFRACT phantom lower-molar --out $D/case --seed 1 --voxel 0.2"),
                HasSubstr("to be replaced with --force"));
    EXPECT_THAT(refusal("$ANFRACT measure $D/tooth.json --out $D/none/result"),
                HasSubstr("another place with --out"));
}

TEST_F(BadInput, NegativeTaper) {
    EXPECT_THAT(
        refusal(
            R"(echo '{"format":"anfract.tray","version":1,"devices":[{"id":"odd","kind":"cone",)"
            R"("material":"gutta-percha","tip_mm":0.2,"taper":-0.02,"working_part_mm":16,)"
            R"("length_mm":28}]}' > $D/tray.json && )"
            "$ANFRACT rehearse $D/tooth.json --tray $D/tray.json --out $D/result"),
        HasSubstr("devices[0].taper"));
}

TEST_F(BadInput, ToothWithoutACanal) {
    EXPECT_THAT(
        refusal(R"(echo '{"format":"anfract.tooth","version":1,"frame":"LPS-mm",)"
                R"("tooth":{"fdi":"36"},"reference_mm":[0,0,0],"canals":[]}' > $D/bare.json && )"
                "$ANFRACT plan $D/bare.json --out $D/result"),
        HasSubstr("canal"));
}

TEST_F(BadInput, UnknownCanalOrDeviceIsNamed) {
    EXPECT_THAT(refusal("$ANFRACT rehearse $D/tooth.json --canal XX --out $D/result"),
                HasSubstr("XX"));
    EXPECT_THAT(refusal("$ANFRACT rehearse $D/tooth.json --device nothing --out $D/result"),
                HasSubstr("nothing"));
}

/// A disk of 64 KiB in a mount namespace of its own: the plan does not fit on it.
TEST_F(BadInput, FullDisk) {
    const std::string mount =
        "mkdir -p $D/small && unshare --mount --map-root-user sh -c 'mount -t tmpfs -o size=64k "
        "none $D/small && ";
    const Outcome outcome = run(mount +
                                "$ANFRACT plan $D/tooth.json --out $D/small/plan.json; code=$?; "
                                "ls -A $D/small; exit $code'");
    EXPECT_EQ(outcome.code, 1) << outcome.err;
    EXPECT_THAT(outcome.err, HasSubstr("No space left"));
    EXPECT_EQ(outcome.out, "") << "a part of a file was left";
    const Outcome scan =
        run(mount +
            "$ANFRACT phantom lower-molar --voxel 0.25 --out $D/small/case; code=$?; "
            "ls -A $D/small; exit $code'");
    EXPECT_EQ(scan.code, 1) << scan.err;
    EXPECT_EQ(scan.out, "") << "a part of a scan was left";
}

TEST_F(BadInput, WrongUsageIsExitTwo) {
    for (const char* command :
         {"$ANFRACT", "$ANFRACT fly", "$ANFRACT survey", "$ANFRACT trace x --inside"}) {
        EXPECT_EQ(run(command).code, 2) << command;
    }
}

TEST_F(BadInput, InterruptStopsWithinASecondAndLeavesNothing) {
    const auto start = std::chrono::steady_clock::now();
    const Outcome outcome =
        run("timeout --preserve-status -s INT 0.2 $ANFRACT phantom upper-molar --voxel 0.06 --out "
            "$D/result; "
            "code=$?; ls -A $D | grep result; exit $code");
    const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
    EXPECT_EQ(outcome.code, 1) << outcome.err;
    EXPECT_EQ(outcome.out, "");
    EXPECT_LT(taken.count(), 1.5);
}

TEST_F(BadInput, MeasuredDepthThatCannotBe) {
    const std::string plan = "$ANFRACT plan $D/tooth.json --out $D/result --measured ";
    EXPECT_THAT(refusal(plan + "MB"), HasSubstr("CANAL=DEPTH_MM"));
    EXPECT_THAT(refusal(plan + "MB=deep"), HasSubstr("CANAL=DEPTH_MM"));
    EXPECT_THAT(refusal(plan + "MB=nan"), HasSubstr("MB"));
    EXPECT_THAT(refusal(plan + "MB=40"), HasSubstr("canal MB: the measured depth"));
    EXPECT_THAT(refusal(plan + "nobody=20"), HasSubstr("its canals are"));
    EXPECT_THAT(refusal(plan + "MB=20 --measured MB=20"), HasSubstr("twice"));
}

}  // namespace
}  // namespace anfract::cli
