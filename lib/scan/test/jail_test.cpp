#include <gtest/gtest.h>
#include <poll.h>
#include <sys/mman.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <cmath>
#include <fstream>
#include <limits>
#include <thread>

#include "packed.h"
#include "parsed_scan.h"
#include "reader_client.h"
#include "series_maker.h"
#include "unpacked_folder.h"

namespace anfract {

using test::open;
using test::TestFolder;

namespace {

/// A reading process that does what the request names; see misbehaving_reader.cpp.
ReaderClient& misbehaving() {
    static ReaderClient client(std::filesystem::path(ANFRACT_BINARY_DIR) / "bin" /
                               "misbehaving_reader");
    return client;
}

Result<std::string> call(const std::string& deed, ReaderLimits limits = {},
                         const Progress& progress = Progress()) {
    ReaderRequest request;
    request.where = deed;
    const int memory = ::memfd_create("test", MFD_CLOEXEC);
    auto reply = misbehaving().call(pack_request(request), memory, deed, limits, progress, nullptr);
    ::close(memory);
    return reply;
}

/// The call must be refused in one sentence that holds `part`, and the next one must work.
void expect_refused(const std::string& deed, const std::string& part, ReaderLimits limits = {}) {
    const auto reply = call(deed, limits);
    ASSERT_FALSE(reply) << deed << " gave: " << *reply;
    const std::string sentence = reply.error().sentence();
    EXPECT_NE(sentence.find(part), std::string::npos) << deed << ": " << sentence;
    EXPECT_EQ(sentence.find('\n'), std::string::npos);
    EXPECT_TRUE(call("threads")) << "after " << deed;
}

}  // namespace

TEST(Jail, StopsForbiddenCalls) {
    for (const char* deed :
         {"socket", "write file", "truncate file", "remove file", "remove folder", "fork",
          "execute", "kill", "trace", "executable memory"}) {
        expect_refused(deed, "forbidden system call");
    }
    EXPECT_FALSE(std::filesystem::exists("/tmp/anfract-escape"));
}

TEST(Jail, KeepsNothingOpenThatItsCallerHadOpen) {
    // As a library opens its sockets: inherited by whatever is started.
    int ends[2];
    ASSERT_EQ(::pipe(ends), 0);
    ReaderClient fresh(std::filesystem::path(ANFRACT_BINARY_DIR) / "bin" / "misbehaving_reader");
    ReaderRequest request;
    request.where = "threads";
    const int memory = ::memfd_create("test", MFD_CLOEXEC);
    EXPECT_TRUE(fresh.call(pack_request(request), memory, "threads", {}, Progress(), nullptr));
    ::close(memory);
    ::close(ends[1]);
    // Nobody holds the other end any more, so the pipe is at its end.
    pollfd end{ends[0], POLLIN, 0};
    ASSERT_EQ(::poll(&end, 1, 2000), 1);
    EXPECT_TRUE(end.revents & POLLHUP);
    ::close(ends[0]);
}

TEST(Jail, LetsThreadsRunAndFilesBeRead) {
    EXPECT_EQ(call("threads").value(), "threads work");
    // Seccomp mode 2 is a filter [proc(5)].
    const std::string status = call("read").value();
    EXPECT_NE(status.find("NoNewPrivs:\t1"), std::string::npos) << status;
    EXPECT_NE(status.find("Seccomp:\t2"), std::string::npos) << status;
}

TEST(Jail, TurnsACrashIntoASentence) {
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
    GTEST_SKIP() << "a sanitizer's report of the crash asks for calls that are forbidden";
#endif
    for (const char* deed : {"crash", "null", "abort", "leave"}) expect_refused(deed, "crashed");
}

TEST(Jail, LimitsMemory) {
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
    GTEST_SKIP() << "sanitizers need more memory than any limit";
#endif
    ReaderLimits limits;
    limits.memory_bytes = std::uint64_t{512} << 20;
    EXPECT_EQ(call("hungry", limits).value(), "out of memory");
}

TEST(Jail, LimitsProcessorTime) {
    ReaderLimits limits;
    limits.cpu_s = 1;
    expect_refused("spin", "too much processor time", limits);
}

TEST(Jail, LimitsSilence) {
    ReaderLimits limits;
    limits.quiet_s = 0.3;
    expect_refused("sleep", "took too long", limits);
}

TEST(Jail, LimitsAReplyThatTricklesIn) {
    ReaderLimits limits;
    limits.quiet_s = 0.3;
    const auto begin = std::chrono::steady_clock::now();
    expect_refused("trickle", "took too long", limits);
    EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::seconds(5));
}

class CancelledJail : public testing::TestWithParam<const char*> {};

TEST_P(CancelledJail, EndsAtOnce) {
    Progress progress;
    std::jthread canceller([&] {
        std::this_thread::sleep_for(std::chrono::milliseconds(200));
        progress.cancel();
    });
    const auto begin = std::chrono::steady_clock::now();
    const auto reply = call(GetParam(), {}, progress);
    ASSERT_FALSE(reply);
    EXPECT_EQ(reply.error().code, ErrorCode::Cancelled);
    // One second is what a user is promised for Ctrl-C; the machine of the tests may be busy.
    EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::seconds(5));
}

INSTANTIATE_TEST_SUITE_P(Deeds, CancelledJail, testing::Values("spin", "trickle"));

TEST(Jail, AnswersSeveralCallersAtOnce) {
    std::atomic<int> good{0};
    {
        std::vector<std::jthread> callers;
        for (int n = 0; n < 8; ++n) {
            callers.emplace_back([&, n] {
                const auto reply = call(n % 2 == 0 ? "threads" : "crash");
                if (reply.has_value() == (n % 2 == 0)) ++good;
            });
        }
    }
    EXPECT_EQ(good, 8);
}

TEST(Jail, SaysWhenTheReaderIsMissing) {
    ReaderClient client("/nonexistent/reader");
    const auto reply = client.call("", -1, "scan", {}, Progress(), nullptr);
    ASSERT_FALSE(reply);
    EXPECT_NE(reply.error().sentence().find("install"), std::string::npos);
}

TEST(Jail, PassesItsLimitsOnFromOpenScan) {
    const TestFolder folder;
    test::Series series;
    test::write_series(folder / "s", series);
    ReadOptions options;
    options.threads = 2;
    options.memory_limit_bytes = std::size_t{1} << 20;  // less than the stack of a thread
    const auto scan = open_scan(folder / "s", options, Progress());
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
    ASSERT_FALSE(scan);
    EXPECT_NE(scan.error().sentence().find("memory"), std::string::npos) << scan.error().sentence();
#endif
}

namespace {

ParsedScan small_parsed() {
    ParsedScan parsed;
    parsed.scan.volume.geometry.size = {4, 3, 1};
    parsed.scan.source = "DICOM series";
    parsed.scan.problems = {"one", "two"};
    DicomFile file;
    file.layout = {3, 4, 16, 12, 11, true};
    file.pixel_offset = 1000;
    file.pixel_bytes = 24;
    file.frames.resize(1);
    file.frames[0].slope = 2;
    parsed.scan.study.frame_uid = "1.2.3";
    parsed.files = {file};
    parsed.slices = {{0, 0, 0.0}};
    return parsed;
}

ReaderRequest small_request() {
    ReaderRequest request;
    request.files = {"a.dcm"};
    request.voxel_limit = 1000;
    return request;
}

}  // namespace

TEST(ParsedScan, ComesBackAsItWasSent) {
    const auto back = unpack_parsed(pack_parsed(small_parsed()), small_request());
    ASSERT_TRUE(back && *back);
    const ParsedScan& parsed = **back;
    EXPECT_EQ(parsed.scan.problems, small_parsed().scan.problems);
    EXPECT_EQ(parsed.scan.study, small_parsed().scan.study);
    EXPECT_EQ(parsed.scan.study.frame_uid, "1.2.3");
    EXPECT_EQ(parsed.files[0].path, "a.dcm");
    EXPECT_EQ(parsed.files[0].pixel_offset, 1000u);
    EXPECT_EQ(parsed.files[0].frames[0].slope, 2);
    EXPECT_EQ(parsed.slices.size(), 1u);
}

TEST(ParsedScan, IsRefusedWhenItCannotBe) {
    const auto refused = [](auto change) {
        ParsedScan parsed = small_parsed();
        change(parsed);
        return !unpack_parsed(pack_parsed(parsed), small_request());
    };
    const double nan = std::numeric_limits<double>::quiet_NaN();
    EXPECT_TRUE(refused([](ParsedScan& p) { p.scan.volume.geometry.size = {4, 3, 2}; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.scan.volume.geometry.size = {-4, 3, 1}; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.scan.volume.geometry.size = {40, 30, 1}; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.scan.volume.geometry.spacing_mm.x() = 0; }));
    EXPECT_TRUE(refused([&](ParsedScan& p) { p.scan.volume.geometry.origin_P.y() = nan; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.scan.volume.geometry.direction *= 2; }));
    EXPECT_TRUE(refused([&](ParsedScan& p) { p.scan.volume.slope = nan; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.scan.study.study_uid = "1.2.x"; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.scan.study.patient_name.assign(5000, 'A'); }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.files[0].number = 1; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.files[0].layout.columns = 5; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.files[0].layout.bits_allocated = 32; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.files[0].packing = PixelPacking::Jpeg2000; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.files[0].pixel_offset = UINT64_MAX; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.slices[0].file = 7; }));
    EXPECT_TRUE(refused([](ParsedScan& p) { p.slices[0].frame = 7; }));
}

TEST(ParsedScan, IsRefusedWhenCutAnywhere) {
    const std::string bytes = pack_parsed(small_parsed());
    for (std::size_t n = 0; n < bytes.size(); ++n)
        EXPECT_FALSE(unpack_parsed(bytes.substr(0, n), small_request())) << n;
    EXPECT_FALSE(unpack_parsed(bytes + "x", small_request()));
}

TEST(UnpackedFolder, TakesOrdinaryNamesOnly) {
    auto folder = UnpackedFolder::make();
    ASSERT_TRUE(folder);
    for (const char* name : {"../escape", "/tmp/escape", "a/b", "", ".hidden", "a\nb", "c:d"})
        EXPECT_FALSE(folder->begin(1, name).empty()) << name;
    EXPECT_TRUE(folder->begin(1, "a.dcm").empty());
    EXPECT_TRUE(folder->append("text").empty());
    EXPECT_TRUE(folder->begin(1, "a.dcm").empty()) << "a name that comes twice gets a number";
}

}  // namespace anfract
