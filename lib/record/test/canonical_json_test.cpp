#include "anfract/record/canonical_json.h"

#include <gtest/gtest.h>

#include <bit>
#include <nlohmann/json.hpp>

#include "anfract/record/hash.h"

namespace anfract::record {
namespace {

using nlohmann::json;

// RFC 8785, section 3.2.2 and 3.2.3 (from memory).
TEST(CanonicalJson, WritesTheExampleOfTheStandard) {
    const json value = json::parse(
        R"({"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
            "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]})");
    EXPECT_EQ(canonical_json(value),
              "{\"literals\":[null,true,false],\"numbers\":[333333333.3333333,1e+30,4.5,0.002,"
              "1e-27],\"string\":\"\xe2\x82\xac$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}");
}

// RFC 8785, appendix B (from memory).
TEST(CanonicalJson, WritesNumbersAsTheStandardsTable) {
    const std::pair<std::uint64_t, const char*> table[] = {
        {0x0000000000000000, "0"},
        {0x8000000000000000, "0"},
        {0x0000000000000001, "5e-324"},
        {0x8000000000000001, "-5e-324"},
        {0x7fefffffffffffff, "1.7976931348623157e+308"},
        {0x4340000000000000, "9007199254740992"},
        {0xc340000000000000, "-9007199254740992"},
        {0x4430000000000000, "295147905179352830000"},
        {0x44b52d02c7e14af5, "9.999999999999997e+22"},
        {0x44b52d02c7e14af6, "1e+23"},
        {0x44b52d02c7e14af7, "1.0000000000000001e+23"},
        {0x444b1ae4d6e2ef4e, "999999999999999700000"},
        {0x444b1ae4d6e2ef4f, "999999999999999900000"},
        {0x444b1ae4d6e2ef50, "1e+21"},
        {0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7"},
        {0x3eb0c6f7a0b5ed8d, "0.000001"},
        {0x41b3de4355555553, "333333333.3333332"},
        {0x41b3de4355555555, "333333333.3333333"},
    };
    for (const auto& [bits, text] : table)
        EXPECT_EQ(canonical_json(json(std::bit_cast<double>(bits))), text);
    EXPECT_EQ(canonical_json(json(20)), canonical_json(json(20.0)));
}

// FIPS 180-4, the examples published with it: the one-block message "abc", and the empty message.
TEST(Sha256, GivesThePublishedDigests) {
    EXPECT_EQ(sha256_hex("abc"),
              "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    EXPECT_EQ(sha256_hex(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

}  // namespace
}  // namespace anfract::record
