#pragma once

#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>
#include <type_traits>

namespace anfract {

/// Numbers and texts in a row of bytes, for messages between two processes of one program.
class Packer {
  public:
    template <class T>
        requires std::is_arithmetic_v<T> || std::is_enum_v<T>
    Packer& operator<<(T value) {
        bytes_.append(reinterpret_cast<const char*>(&value), sizeof value);
        return *this;
    }
    Packer& operator<<(std::string_view text) {
        *this << std::uint64_t{text.size()};
        bytes_ += text;
        return *this;
    }
    const std::string& bytes() const { return bytes_; }

  private:
    std::string bytes_;
};

/// Takes them out again. After anything that does not fit, `good` is false and all values are zero
/// or empty: the bytes may come from a process that an input has taken over.
class Unpacker {
  public:
    explicit Unpacker(std::string_view bytes) : left_(bytes) {}

    template <class T>
        requires std::is_arithmetic_v<T>
    Unpacker& operator>>(T& value) {
        value = T{};
        if constexpr (std::is_same_v<T, bool>) {
            std::uint8_t byte = 0;
            *this >> byte;
            value = byte == 1;
            good_ = good_ && byte <= 1;
        } else if (const std::string_view part = take(sizeof value); good_) {
            std::memcpy(&value, part.data(), sizeof value);
        }
        return *this;
    }
    Unpacker& operator>>(std::string& text) {
        std::uint64_t size = 0;
        *this >> size;
        text = take(size);
        return *this;
    }
    /// A count of things that take at least `least_bytes` each.
    std::size_t count(std::size_t least_bytes) {
        std::uint64_t n = 0;
        *this >> n;
        good_ = good_ && n <= left_.size() / least_bytes;
        return good_ ? std::size_t(n) : 0;
    }
    bool good() const { return good_; }
    bool finished() const { return good_ && left_.empty(); }

  private:
    std::string_view take(std::uint64_t size) {
        good_ = good_ && size <= left_.size();
        if (!good_) return {};
        const std::string_view part = left_.substr(0, std::size_t(size));
        left_.remove_prefix(std::size_t(size));
        return part;
    }

    std::string_view left_;
    bool good_ = true;
};

}  // namespace anfract
