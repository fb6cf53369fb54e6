#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace anfract {

/// The stored numbers of a whole scan, often hundreds of megabytes.
///
/// Unlike a vector it takes its memory straight from the system: pages come zeroed when they are
/// first written to, on the thread that writes, and large ones where the system has them; setting
/// every number first, on one thread, would double the time to open a scan. It can also be a
/// private view of memory that another process has filled. Running out of memory throws
/// std::bad_alloc.
class Voxels {
  public:
    Voxels() = default;
    explicit Voxels(std::size_t count);           ///< zeros
    Voxels(const std::vector<std::int16_t>& of);  ///< a copy
    Voxels(const Voxels& other);
    Voxels(Voxels&& other) noexcept
        : data_(std::exchange(other.data_, nullptr)), count_(std::exchange(other.count_, 0)) {}
    Voxels& operator=(Voxels other) noexcept {
        std::swap(data_, other.data_);
        std::swap(count_, other.count_);
        return *this;
    }
    ~Voxels();

    /// A view of the first `count` numbers of a memory file; what is written to it stays here.
    static Voxels of_memory_file(int fd, std::size_t count);

    std::size_t size() const { return count_; }
    bool empty() const { return count_ == 0; }
    std::int16_t* data() { return data_; }
    const std::int16_t* data() const { return data_; }
    std::int16_t* begin() { return data_; }
    const std::int16_t* begin() const { return data_; }
    std::int16_t* end() { return data_ + count_; }
    const std::int16_t* end() const { return data_ + count_; }
    std::int16_t& operator[](std::size_t n) { return data_[n]; }
    const std::int16_t& operator[](std::size_t n) const { return data_[n]; }

    friend bool operator==(const Voxels& a, const Voxels& b);

  private:
    std::int16_t* data_ = nullptr;
    std::size_t count_ = 0;
};

}  // namespace anfract
