#include "anfract/record/hash.h"

#include <sodium.h>

#include <array>
#include <fstream>
#include <vector>

namespace anfract::record {
namespace {

std::string hex_of(const unsigned char* bytes, std::size_t count) {
    std::string text(2 * count + 1, '\0');
    sodium_bin2hex(text.data(), text.size(), bytes, count);
    text.pop_back();
    return text;
}

const unsigned char* unsigned_of(const char* bytes) {
    return reinterpret_cast<const unsigned char*>(bytes);
}

}  // namespace

std::string sha256_hex(std::string_view bytes) {
    std::array<unsigned char, crypto_hash_sha256_BYTES> digest{};
    crypto_hash_sha256(digest.data(), unsigned_of(bytes.data()), bytes.size());
    return hex_of(digest.data(), digest.size());
}

Result<std::string> sha256_of_file(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file) return fail(ErrorCode::NotFound, "cannot be read", path.string(), "check the path");
    crypto_hash_sha256_state state;
    crypto_hash_sha256_init(&state);
    std::vector<char> piece(std::size_t{1} << 18);
    while (file) {
        file.read(piece.data(), static_cast<std::streamsize>(piece.size()));
        crypto_hash_sha256_update(&state, unsigned_of(piece.data()),
                                  static_cast<unsigned long long>(file.gcount()));
    }
    if (file.bad())
        return fail(ErrorCode::Io, "cannot be read to its end", path.string(), "check the disk");
    std::array<unsigned char, crypto_hash_sha256_BYTES> digest{};
    crypto_hash_sha256_final(&state, digest.data());
    return hex_of(digest.data(), digest.size());
}

bool is_sha256(std::string_view text) {
    return text.size() == 64 &&
           text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

std::string random_hex(std::size_t bytes) {
    std::vector<unsigned char> random(bytes);
    randombytes_buf(random.data(), random.size());
    return hex_of(random.data(), random.size());
}

}  // namespace anfract::record
