// The way from a scan to a letter with the program itself, also on files that passed through other
// programs.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "command_line.h"

namespace anfract::cli {
namespace {

class WholeWay : public testing::Test {
  protected:
    static void SetUpTestSuite() {
        scratch_ = new Scratch;
        ASSERT_EQ(run("$ANFRACT phantom lower-premolar --out $D/case --seed 3 --voxel 0.15").code,
                  0);
        const auto truth = nlohmann::json::parse(slurp(scratch_->path() / "case/truth.json"));
        setenv("INSIDE", point(truth["inside_mm"]).c_str(), 1);
        setenv("REFERENCE", point(truth["reference_mm"]).c_str(), 1);
        const Outcome traced = trace("$D/case/scan", "$D/tooth.json");
        ASSERT_EQ(traced.code, 0) << traced.err;
    }
    static void TearDownTestSuite() { delete scratch_; }

    static std::string point(const nlohmann::json& p) {
        return std::to_string(p[0].get<double>()) + "," + std::to_string(p[1].get<double>()) + "," +
               std::to_string(p[2].get<double>());
    }
    static Outcome run(const std::string& command) { return shell(*scratch_, command); }
    static Outcome trace(const std::string& scan, const std::string& out) {
        return run("$ANFRACT trace " + scan +
                   " --inside=$INSIDE --reference=$REFERENCE --fdi 34 --out " + out);
    }
    static nlohmann::json document(const std::string& name) {
        return nlohmann::json::parse(slurp(scratch_->path() / name));
    }

    static Scratch* scratch_;
};
Scratch* WholeWay::scratch_ = nullptr;

TEST_F(WholeWay, LeadsFromScanToLetter) {
    for (const char* step :
         {"$ANFRACT survey $D/case/scan --out $D/survey.json",
          "$ANFRACT measure $D/tooth.json --out $D/measures.json",
          "$ANFRACT rehearse $D/tooth.json --out $D/passages.json",
          "$ANFRACT plan $D/tooth.json --out $D/plan.json",
          "$ANFRACT report $D/plan.json --scan $D/case/scan --out $D/letter.pdf"}) {
        const Outcome outcome = run(step);
        ASSERT_EQ(outcome.code, 0) << step << "\n" << outcome.err;
    }
    const auto tooth = document("tooth.json");
    const auto& canals = tooth["canals"];
    ASSERT_FALSE(canals.empty());
    EXPECT_EQ(document("plan.json")["canals"].size(), canals.size());
    const Outcome letter = run("pdftotext -layout $D/letter.pdf -");
    for (const auto& canal : canals) {
        EXPECT_THAT(letter.out, testing::HasSubstr(canal["name"].get<std::string>()));
    }
    EXPECT_THAT(letter.out, testing::HasSubstr("apex locator"));
}

/// The schema is the one HL7 published for FHIR R4; see tools/fhir.
TEST_F(WholeWay, APlanGoesOutAsAFhirBundleAndComesBack) {
    const Outcome sent = run(
        "$ANFRACT plan $D/tooth.json --out $D/sent.json && $ANFRACT report $D/sent.json --out "
        "$D/sent.pdf && "
        "$ANFRACT fhir $D/sent.json --letter $D/sent.pdf --family Example --birth-date 1971-02-03 "
        "--issued 2026-01-02T03:04:05+01:00 --out $D/bundle.json && "
        "node " ANFRACT_SOURCE_DIR "/tools/fhir/check.mjs $D/bundle.json");
    ASSERT_EQ(sent.code, 0) << sent.err;
    ASSERT_EQ(run("$ANFRACT fhir $D/bundle.json --out $D/back.json").code, 0);
    EXPECT_TRUE(document("back.json") == document("sent.json"));

    auto broken = document("bundle.json");
    broken["entry"][0]["resource"]["birthDate"] = 1971;
    std::ofstream(scratch_->path() / "broken.json") << broken;
    EXPECT_EQ(run("node " ANFRACT_SOURCE_DIR "/tools/fhir/check.mjs $D/broken.json").code, 1);
}

TEST_F(WholeWay, ATracedToothBecomesASolidToPrint) {
    const Outcome made = run("$ANFRACT model $D/tooth.json --scale 2 --out $D/model.stl");
    ASSERT_EQ(made.code, 0) << made.err;
    EXPECT_THAT(made.err, testing::HasSubstr("invented"));
    EXPECT_GT(slurp(scratch_->path() / "model.stl").size(), 100'000u);
    const Outcome refused = run("$ANFRACT model $D/tooth.json --out $D/model.obj");
    EXPECT_EQ(refused.code, 1);
    EXPECT_THAT(refused.err, testing::HasSubstr(".3mf"));
}

// Colder nickel-titanium lasts longer: at 35 degC a life is 0.43 to 0.61 of that at 20
// [Plotino2017], the exponential of docs/methods/passage.md.
TEST_F(WholeWay, ALifeIsThatOfTheTemperatureAskedFor) {
    const auto turns_at = [](const std::string& degC) {
        const Outcome said =
            run("$ANFRACT rehearse $D/tooth.json --device rotary-025-04-25 --no-profile "
                "--temperature " +
                degC);
        EXPECT_EQ(said.code, 0) << said.err;
        return nlohmann::json::parse(said.out)["passages"][0]["cycles_to_failure"]["median"]
            .get<double>();
    };
    const double share = turns_at("35") / turns_at("20");
    EXPECT_GT(share, 0.43);
    EXPECT_LT(share, 0.61);
    EXPECT_EQ(run("$ANFRACT rehearse $D/tooth.json --temperature 400").code, 2);
}

TEST_F(WholeWay, StandardOutputCarriesOnlyTheResult) {
    const Outcome outcome = run("$ANFRACT measure $D/tooth.json");
    EXPECT_EQ(outcome.code, 0);
    EXPECT_TRUE(nlohmann::json::accept(outcome.out)) << outcome.out.substr(0, 200);
}

/// dcmtk's storescu sends the series to its storescp on loopback; the received files give the same
/// tooth.
TEST_F(WholeWay, ASeriesSentThroughTheNetworkGivesTheSameTooth) {
    const Outcome sent = run(
        "mkdir -p $D/received && export TCP_NODELAY=1 && "
        "port=$(shuf -i 20000-40000 -n 1) && "
        "{ storescp --output-directory $D/received $port & } && server=$! && "
        "for i in $(seq 50); do echoscu 127.0.0.1 $port 2>/dev/null && break; sleep 0.1; done && "
        "storescu --scan-directories 127.0.0.1 $port $D/case/scan; code=$?; kill $server; exit "
        "$code");
    ASSERT_EQ(sent.code, 0) << sent.err;
    const Outcome traced = trace("$D/received", "$D/tooth-received.json");
    ASSERT_EQ(traced.code, 0) << traced.err;
    EXPECT_EQ(document("tooth-received.json"), document("tooth.json"));
}

/// Files compressed by dcmtk's dcmcjpls (JPEG-LS, lossless) in one zip give the same tooth.
TEST_F(WholeWay, ACompressedZipGivesTheSameTooth) {
    const Outcome packed =
        run("mkdir -p $D/jpls && for f in $D/case/scan/*.dcm; do dcmcjpls $f $D/jpls/$(basename "
            "$f); done && "
            "cd $D && cmake -E tar cf jpls.zip --format=zip jpls");
    ASSERT_EQ(packed.code, 0) << packed.err;
    const Outcome traced = trace("$D/jpls.zip", "$D/tooth-zip.json");
    ASSERT_EQ(traced.code, 0) << traced.err;
    EXPECT_EQ(document("tooth-zip.json"), document("tooth.json"));
}

TEST_F(WholeWay, ACanalByHandIsTracedBetweenItsEnds) {
    const auto truth = document("case/truth.json");
    const auto& canal = truth["tooth"]["canals"][0];
    const Outcome traced = run(
        "$ANFRACT trace $D/case/scan --inside=$INSIDE --reference=$REFERENCE --fdi 34 "
        "--canal=" +
        point(canal["orifice_mm"]) + ":" + point(canal["foramen_mm"]) + " --out $D/by-hand.json");
    ASSERT_EQ(traced.code, 0) << traced.err;
    bool found = false;
    const auto tooth = document("by-hand.json");
    for (const auto& candidate : tooth["canals"]) {
        found = found || candidate.value("by_hand", false);
    }
    EXPECT_TRUE(found);
}

}  // namespace
}  // namespace anfract::cli
