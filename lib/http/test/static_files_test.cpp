#include "anfract/http/static_files.h"

#include <gtest/gtest.h>

#include "anfract/http/gzip.h"
#include "client.h"

namespace anfract::http {
namespace {

std::string header(const Response& response, const std::string& name) {
    for (const auto& [key, value] : response.headers) {
        if (key == name) return value;
    }
    return "";
}

Request get(const std::string& path, std::multimap<std::string, std::string> headers = {}) {
    Request request;
    request.path = path;
    request.headers = std::move(headers);
    return request;
}

StaticFiles page() {
    StaticFiles files;
    files.add("index.html", "<!doctype html>" + std::string(2000, ' '));
    files.add("assets/index-B2xk9_1a.js", std::string(5000, 'x'));
    files.add("mark.png", std::string(5000, 'x'));
    return files;
}

TEST(StaticFiles, PageAnswersItsOwnAddresses) {
    const StaticFiles files = page();
    for (const char* path : {"/", "/index.html", "/case/12"}) {
        EXPECT_EQ(files.answer(get(path)).status, 200) << path;
        EXPECT_EQ(header(files.answer(get(path)), "Content-Type"), "text/html; charset=utf-8");
    }
    EXPECT_EQ(files.answer(get("/none.js")).status, 404);
}

TEST(StaticFiles, OnlyNamesWithAHashAreKeptForEver) {
    const StaticFiles files = page();
    EXPECT_NE(
        header(files.answer(get("/assets/index-B2xk9_1a.js")), "Cache-Control").find("immutable"),
        std::string::npos);
    EXPECT_EQ(header(files.answer(get("/")), "Cache-Control"), "no-cache");
}

TEST(StaticFiles, UnchangedFileIsNotSentAgain) {
    const StaticFiles files = page();
    const std::string tag = header(files.answer(get("/")), "ETag");
    const Response again = files.answer(get("/", {{"if-none-match", tag}}));
    EXPECT_EQ(again.status, 304);
    EXPECT_TRUE(again.bytes().empty());
    StaticFiles other;
    other.add("index.html", "changed");
    EXPECT_EQ(other.answer(get("/", {{"if-none-match", tag}})).status, 200);
}

TEST(StaticFiles, CompressedFormUnpacksToTheSameBytesAndHasItsOwnTag) {
    const StaticFiles files = page();
    const Response plain = files.answer(get("/assets/index-B2xk9_1a.js"));
    const Response zipped =
        files.answer(get("/assets/index-B2xk9_1a.js", {{"accept-encoding", "br, gzip"}}));
    EXPECT_EQ(header(zipped, "Content-Encoding"), "gzip");
    EXPECT_EQ(test::gunzip(std::string(zipped.bytes())), plain.bytes());
    EXPECT_NE(header(zipped, "ETag"), header(plain, "ETag"));
    EXPECT_EQ(
        header(files.answer(get("/mark.png", {{"accept-encoding", "gzip"}})), "Content-Encoding"),
        "");
}

// RFC 9110, section 12.5.3.
TEST(Gzip, IsUsedOnlyWhereAccepted) {
    for (const char* yes : {"gzip", "br, gzip;q=0.5", "*", "GZIP ; q=1", "x-gzip"})
        EXPECT_TRUE(accepts_gzip(yes)) << yes;
    for (const char* no : {"", "br", "gzip;q=0", "*, gzip; q=0.000", "identity"})
        EXPECT_FALSE(accepts_gzip(no)) << no;
}

TEST(Gzip, RoundTripsAnySize) {
    for (const std::size_t size :
         {std::size_t{0}, std::size_t{1}, std::size_t{65536}, std::size_t{300001}}) {
        std::string bytes(size, '\0');
        unsigned state = 1;
        for (char& c : bytes) c = static_cast<char>((state = state * 1664525u + 1013904223u) >> 24);
        EXPECT_EQ(test::gunzip(gzip(bytes)), bytes) << size;
    }
}

}  // namespace
}  // namespace anfract::http
