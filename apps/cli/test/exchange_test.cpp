// What goes to other programs and comes from them, with the program itself: archives of a case, and
// DICOM over the network with dcmtk's storescu, storescp and echoscu on the other side.

#include <gmock/gmock.h>

#include "anfract/record/zip_file.h"
#include "client.h"
#include "exchange_fixture.h"

namespace anfract::cli {
namespace {

using testing::HasSubstr;

TEST_F(Exchange, ASeriesSentToItLandsOnTheShelf) {
    const auto program = listener();
    ASSERT_TRUE(program) << slurp(path("listen.txt"));
    EXPECT_EQ(run("echoscu -aet SENDER -aec ANFRACT" + to()).code, 0);
    // In two associations: the series is put together.
    const Outcome sent =
        run("mkdir -p $D/a $D/b && n=0; for f in $D/case/scan/*; do n=$((n+1)); "
            "if [ $((n%2)) = 0 ]; then cp $f $D/a; else cp $f $D/b; fi; done; "
            "storescu -aet SENDER -aec ANFRACT +sd" +
            to() +
            "$D/a && "
            "storescu -aet SENDER -aec ANFRACT +sd" +
            to() + "$D/b");
    ASSERT_EQ(sent.code, 0) << sent.err;
    ASSERT_TRUE(wait_for([] { return heard("\nscan "); })) << slurp(path("listen.txt"));
    ASSERT_EQ(scans().size(), 1u);
    const record::KeptScan landed = scans()[0];
    EXPECT_EQ(nlohmann::json::parse(landed.content)["invented"], true);
    EXPECT_EQ(survey(file_of(landed, "data")), survey(path("case/scan")));
    EXPECT_TRUE(fs::is_empty(path("data/incoming")));
    EXPECT_EQ(fs::status(path("data/incoming")).permissions(), fs::perms::owner_all);
    EXPECT_EQ(program->stop(), 0);
}

TEST_F(Exchange, OnlyThoseWhoAreAllowedMaySend) {
    const auto program = listener();
    ASSERT_TRUE(program);
    EXPECT_NE(run("echoscu -aet OTHER -aec ANFRACT" + to()).code, 0);
    EXPECT_NE(run("echoscu -aet SENDER -aec OTHER" + to()).code, 0);
    EXPECT_NE(run("storescu -aet OTHER -aec ANFRACT +sd" + to() + "$D/case/scan").code, 0);
    EXPECT_TRUE(heard("'OTHER' is not among the callers"));
    EXPECT_TRUE(scans().empty());
    // Another machine under the right title.
    int port = 0;
    const auto elsewhere = listener_to("SENDER@192.0.2.1", "data2", "other.txt", port);
    ASSERT_TRUE(elsewhere);
    EXPECT_NE(run("echoscu -aet SENDER -aec ANFRACT 127.0.0.1 " + std::to_string(port)).code, 0);
    elsewhere->stop();
    EXPECT_THAT(slurp(path("other.txt")), HasSubstr("not the machine of a caller"));
}

TEST_F(Exchange, WhatBreaksOffOrHasGapsDoesNotLand) {
    const auto program = listener();
    ASSERT_TRUE(program);
    // dcmtk's --abort ends the association without a release, after all was sent.
    run("storescu --abort -aet SENDER -aec ANFRACT +sd" + to() + "$D/case/scan");
    EXPECT_TRUE(wait_for([] { return heard("broke off"); })) << slurp(path("listen.txt"));
    // Every fifth slice is missing, until the rest comes.
    ASSERT_EQ(run("mkdir -p $D/gaps $D/rest && n=0; for f in $D/case/scan/*; do n=$((n+1)); "
                  "if [ $((n%5)) = 0 ]; then cp $f $D/rest; else cp $f $D/gaps; fi; done; "
                  "storescu -aet SENDER -aec ANFRACT +sd" +
                  to() + "$D/gaps")
                  .code,
              0);
    EXPECT_TRUE(wait_for([] { return heard("is not taken in"); })) << slurp(path("listen.txt"));
    EXPECT_TRUE(scans().empty());
    ASSERT_EQ(run("storescu -aet SENDER -aec ANFRACT +sd" + to() + "$D/rest").code, 0);
    EXPECT_TRUE(wait_for([] { return heard("\nscan "); })) << slurp(path("listen.txt"));
    EXPECT_EQ(scans().size(), 1u);
}

TEST_F(Exchange, TheNetworkCanBeEncryptedBothWays) {
    const std::vector<std::string> tls{"--key",          path("key.pem"), "--certificate",
                                       path("cert.pem"), "--trusted",     path("cert.pem")};
    const auto program = listener(tls);
    ASSERT_TRUE(program) << slurp(path("listen.txt"));
    EXPECT_NE(run("echoscu -aet SENDER -aec ANFRACT" + to()).code, 0);
    EXPECT_NE(run("echoscu +tla -ic -aet SENDER -aec ANFRACT" + to()).code, 0);
    EXPECT_EQ(
        run("echoscu +tls $D/key.pem $D/cert.pem +cf $D/cert.pem -aet SENDER -aec ANFRACT" + to())
            .code,
        0);
    // Our own sender to our own listener, and refused by one it does not trust.
    const std::string send = "$ANFRACT send $D/case/scan --calling SENDER --to ANFRACT@127.0.0.1:" +
                             std::to_string(port_);
    EXPECT_EQ(run(send + " --key $D/key.pem --certificate $D/cert.pem --trusted $D/cert.pem").code,
              0);
    EXPECT_TRUE(wait_for([] { return heard("\nscan "); })) << slurp(path("listen.txt"));
    run("openssl req -x509 -newkey rsa:2048 -nodes -keyout $D/key2.pem -out $D/cert2.pem -days 2 "
        "-subj /CN=other");
    const Outcome distrusted =
        run(send + " --key $D/key2.pem --certificate $D/cert2.pem --trusted $D/cert2.pem");
    EXPECT_EQ(distrusted.code, 1);
    EXPECT_THAT(distrusted.err, HasSubstr("does not take the connection"));
    const Outcome mixed =
        run(send + " --key $D/key.pem --certificate $D/cert2.pem --trusted $D/cert.pem");
    EXPECT_THAT(mixed.err, HasSubstr("does not belong to the key"));
}

TEST_F(Exchange, ListenRefusesWhatCannotBeInOneSentence) {
    const auto refuses = [&](const std::string& arguments, const std::string& why) {
        const Outcome outcome = run("timeout 20 $ANFRACT listen --data $D/data " + arguments);
        EXPECT_EQ(outcome.code, 1) << arguments;
        EXPECT_THAT(outcome.err, HasSubstr(why)) << arguments;
        EXPECT_EQ(std::count(outcome.err.begin(), outcome.err.end(), '\n'), 1) << outcome.err;
    };
    refuses("--allow 'A B'", "is not a caller");
    refuses("--allow A@no-such-machine.invalid", "no such machine");
    refuses("--allow A --title SEVENTEENLETTERS1", "application title");
    refuses("--allow A@127.0.0.1 --key $D/key.pem", "belong together");
    refuses("--allow A@127.0.0.1 --key $D/cert.pem --certificate $D/cert.pem", "is not a key");
    EXPECT_EQ(run("$ANFRACT listen").code, 2);
    const auto program = listener();
    ASSERT_TRUE(program);
    refuses("--allow A@127.0.0.1", "another program listens");
    const Outcome taken =
        run("timeout 20 $ANFRACT listen --data $D/data2 --allow A@127.0.0.1 --port " +
            std::to_string(port_));
    EXPECT_EQ(taken.code, 1);
    EXPECT_THAT(taken.err, HasSubstr("port cannot be listened on"));
}

TEST_F(Exchange, ObjectsFromThePageLieInThePatientsStudy) {
    std::uint16_t port = 0;
    const auto program = server("page", port);
    ASSERT_TRUE(program);
    const http::test::Reply opened = http::test::ask(
        port, "POST", "/api/scans", nlohmann::json{{"path", path("case/scan")}}.dump());
    ASSERT_EQ(opened.status, 201) << opened.body;
    // Nothing of the patient is told with the list of scans.
    EXPECT_THAT(opened.body, testing::Not(HasSubstr("INVENTED-")));
    std::string id;
    {
        const auto record = record::Record::open(record::RecordPlace::below(path("page")));
        ASSERT_TRUE(record);
        const auto truth = nlohmann::json::parse(slurp(path("case/truth.json")));
        const std::string scan = nlohmann::json::parse(opened.body)["id"];
        id = (*record)
                 ->cases()
                 .add({"", "", scan, "34", "", true}, {"tooth", truth.at("tooth").dump(), "t.json"},
                      "")
                 ->id;
    }
    std::ofstream(path("objects.zip"), std::ios::binary)
        << http::test::ask(port, "GET", "/api/cases/" + id + "/dicom.zip").body;
    const auto zip = record::ZipReader::open(path("objects.zip"));
    ASSERT_TRUE(zip);
    const auto told = [&](const std::string& file, const std::string& tags) {
        return run("dcmdump -q +L" + tags + " " + file).out;
    };
    const std::string slice = fs::directory_iterator(path("case/scan"))->path().string();
    const std::string whose =
        " +P PatientName +P PatientID +P PatientBirthDate +P PatientSex +P StudyInstanceUID"
        " +P StudyDate +P StudyTime +P StudyID";
    EXPECT_THAT(told(slice, whose), HasSubstr("INVENTED-"));
    const auto names = zip->names();
    ASSERT_TRUE(names && names->size() >= 4);
    for (const auto& [name, bytes] : *names) {
        std::ofstream(path(name), std::ios::binary) << *zip->text(name, bytes);
        EXPECT_EQ(told(path(name), whose), told(slice, whose)) << name;
    }
    EXPECT_EQ(told(path("canals.dcm"), " +P FrameOfReferenceUID"),
              told(slice, " +P FrameOfReferenceUID"));
}

// ---- archives ----

TEST_F(Exchange, ACaseGoesOutAndComesBackEqualWithItsScan) {
    fs::create_directories(path("data"));
    const std::string scan = "0123456789abcdef";
    // A scan that lies elsewhere, beside a series of someone else.
    fs::create_directories(path("elsewhere"));
    ASSERT_EQ(run("cp $D/case/scan/* $D/elsewhere && "
                  "$ANFRACT phantom lower-molar --out $D/someone --seed 5 --voxel 0.4 && "
                  "for f in $D/someone/scan/*; do cp $f $D/elsewhere/other-$(basename $f); done")
                  .code,
              0);
    const std::string uid =
        nlohmann::json::parse(run("$ANFRACT survey $D/case/scan").out).value("series_uid", "");
    std::string id;
    {
        const auto record = record::Record::open(record::RecordPlace::below(path("data")));
        ASSERT_TRUE(record);
        const nlohmann::json content{
            {"path", path("elsewhere")}, {"series_uid", uid}, {"uploaded", false}};
        ASSERT_TRUE(
            (*record)->scans().add({scan, "2026-01-31T12:00:00Z", content.dump(), "x", ""}));
        id = (*record)
                 ->cases()
                 .add({"", "", scan, "34", "practice", true}, {"tooth", "{}", "t.json"}, "")
                 ->id;
        ASSERT_TRUE(
            (*record)->log().append(id,
                                    {{"entries",
                                      {{{"entry_id", "00000000-0000-4000-8000-000000000001"},
                                        {"at", "2026-01-31T12:00:00Z"},
                                        {"kind", "note"},
                                        {"text", "x"}}}}},
                                    ""));
    }
    const Outcome out = run("$ANFRACT archive export " + id + " --data $D/data --out $D/case.zip");
    ASSERT_EQ(out.code, 0) << out.err;
    EXPECT_THAT(out.err, HasSubstr("not encrypted"));
    const auto zip = record::ZipReader::open(path("case.zip"));
    ASSERT_TRUE(zip);
    const std::string rows = zip->text("rows.jsonl", 1 << 20).value();
    EXPECT_THAT(rows, HasSubstr(uid));
    EXPECT_THAT(rows, testing::Not(HasSubstr("elsewhere"))) << "a place on this machine";
    const Outcome in = run("$ANFRACT archive import --data $D/new $D/case.zip");
    ASSERT_EQ(in.code, 0) << in.err;
    EXPECT_THAT(run("$ANFRACT archive import --data $D/new $D/case.zip").out,
                HasSubstr("there already, equal"));
    EXPECT_THAT(run("$ANFRACT case log --data $D/new " + id).out,
                testing::StrEq(run("$ANFRACT case log --data $D/data " + id).out));
    EXPECT_EQ(run("$ANFRACT store check --data $D/new").code, 0);
    // The scan came along, without the other person's.
    ASSERT_EQ(scans("new").size(), 1u);
    EXPECT_EQ(survey(file_of(scans("new")[0], "new")), survey(path("case/scan")));
    // Out again from there: the same files.
    ASSERT_EQ(run("$ANFRACT archive export " + id + " --data $D/new --out $D/again.zip").code, 0);
    fs::remove_all(path("elsewhere"));
    const Outcome gone = run("$ANFRACT archive export " + id + " --data $D/data --out $D/gone.zip");
    EXPECT_EQ(gone.code, 1);
    EXPECT_THAT(gone.err, HasSubstr("--without-scan"));
    EXPECT_EQ(
        run("$ANFRACT archive export " + id + " --without-scan --data $D/data --out $D/gone.zip")
            .code,
        0);
}

TEST_F(Exchange, AServerThatRunsFindsWhatWasReceivedAndImported) {
    std::uint16_t port = 0, other_port = 0;
    const auto here = server("data", port), there = server("there", other_port);
    ASSERT_TRUE(here && there);
    const auto ask = [](std::uint16_t at, const std::string& target) {
        const http::test::Reply reply = http::test::ask(at, "GET", target);
        EXPECT_EQ(reply.status, 200) << target << ": " << reply.body;
        return reply.body;
    };
    const auto list = [&](std::uint16_t at, const char* of) {
        return nlohmann::json::parse(ask(at, std::string("/api/") + of)).at(of);
    };
    EXPECT_TRUE(list(port, "scans").empty());
    const auto program = listener();
    ASSERT_TRUE(program) << slurp(path("listen.txt"));
    ASSERT_EQ(run("storescu -aet SENDER -aec ANFRACT +sd" + to() + "$D/case/scan").code, 0);
    ASSERT_TRUE(wait_for([] { return heard("\nscan "); })) << slurp(path("listen.txt"));
    const nlohmann::json scans_here = list(port, "scans");
    ASSERT_EQ(scans_here.size(), 1u);
    const std::string scan = scans_here[0]["id"];
    const std::string voxels = ask(port, "/api/scans/" + scan + "/brick?step=4");
    EXPECT_GT(voxels.size(), 1000u);

    std::string id;
    {
        const auto record = record::Record::open(record::RecordPlace::below(path("data")));
        ASSERT_TRUE(record);
        const auto truth = nlohmann::json::parse(slurp(path("case/truth.json")));
        id = (*record)
                 ->cases()
                 .add({"", "", scan, "34", "", true}, {"tooth", truth.at("tooth").dump(), "t.json"},
                      "")
                 ->id;
    }
    EXPECT_EQ(list(port, "cases").size(), 1u);
    ASSERT_EQ(run("$ANFRACT archive export " + id + " --data $D/data --out $D/sent.zip").code, 0);
    EXPECT_TRUE(list(other_port, "cases").empty());
    const Outcome in = run("$ANFRACT archive import --data $D/there $D/sent.zip");
    ASSERT_EQ(in.code, 0) << in.err;
    EXPECT_EQ(list(other_port, "cases"), list(port, "cases"));
    EXPECT_EQ(list(other_port, "scans"), list(port, "scans"));
    EXPECT_EQ(ask(other_port, "/api/cases/" + id), ask(port, "/api/cases/" + id));
    EXPECT_EQ(ask(other_port, "/api/scans/" + scan + "/brick?step=4"), voxels);
}

TEST_F(Exchange, ArchivesRefuseWhatIsNoneInOneSentence) {
    std::ofstream(path("text.zip")) << "hello";
    for (const char* name : {"text.zip", "none.zip", "case/truth.json"}) {
        const Outcome outcome =
            run("$ANFRACT archive import --data $D/fresh $D/" + std::string(name));
        EXPECT_EQ(outcome.code, 1);
        EXPECT_EQ(std::count(outcome.err.begin(), outcome.err.end(), '\n'), 1) << outcome.err;
    }
    EXPECT_EQ(run("$ANFRACT archive").code, 2);
}

}  // namespace
}  // namespace anfract::cli
