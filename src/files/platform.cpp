// All calls to the operating system of this room (POSIX).
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <system_error>

#include "files/file_system.hpp"

namespace leafwright {

namespace {

class RealFileSystem final : public FileSystem {
 public:
  int create(const std::string& path, const std::string& like, int& handle) override {
    handle = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (handle < 0) return errno;
    struct stat old {};
    if (::stat(like.c_str(), &old) == 0 && ::fchmod(handle, old.st_mode & 07777U) != 0) {
      // Not the owner's file: the new one keeps the usual permissions.
      errno = 0;
    }
    return 0;
  }

  int write(int handle, std::string_view bytes, std::size_t& written) override {
    while (true) {
      const ssize_t done = ::write(handle, bytes.data(), bytes.size());
      if (done >= 0) {
        written = static_cast<std::size_t>(done);
        return 0;
      }
      if (errno != EINTR) return errno;
    }
  }

  int sync(int handle) override {
    // Pipes and some network drives have nothing to sync.
    if (::fsync(handle) == 0 || errno == EINVAL || errno == ENOTSUP) return 0;
    return errno;
  }

  int close(int handle) override { return ::close(handle) == 0 ? 0 : errno; }

  int rename(const std::string& from, const std::string& to) override {
    return std::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
  }

  int link(const std::string& from, const std::string& to) override {
    return ::link(from.c_str(), to.c_str()) == 0 ? 0 : errno;
  }

  int remove(const std::string& path) override { return ::unlink(path.c_str()) == 0 ? 0 : errno; }

  int make_folder(const std::string& path) override {
    return ::mkdir(path.c_str(), 0777) == 0 ? 0 : errno;
  }

  int remove_folder(const std::string& path) override {
    return ::rmdir(path.c_str()) == 0 ? 0 : errno;
  }

  int sync_folder(const std::string& path) override {
    const int handle = ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (handle < 0) return errno;
    const int problem = ::fsync(handle) == 0 ? 0 : errno;
    ::close(handle);
    return problem;
  }

  PathKind kind(const std::string& path) override {
    struct stat found {};
    if (::stat(path.c_str(), &found) != 0) return PathKind::nothing;
    if (S_ISREG(found.st_mode)) return PathKind::file;
    return S_ISDIR(found.st_mode) ? PathKind::folder : PathKind::other;
  }
};

}  // namespace

FileSystem& real_file_system() {
  static RealFileSystem real;
  return real;
}

int read_all(const std::string& path, std::string& bytes) {
  bytes.clear();
  const int handle = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (handle < 0) return errno;
  struct stat found {};
  if (::fstat(handle, &found) == 0 && S_ISREG(found.st_mode)) {
    bytes.reserve(static_cast<std::size_t>(found.st_size));
  }
  std::array<char, 65536> block{};
  int problem = 0;
  while (true) {
    const ssize_t got = ::read(handle, block.data(), block.size());
    if (got == 0) break;
    if (got > 0) {
      bytes.append(block.data(), static_cast<std::size_t>(got));
    } else if (errno != EINTR) {
      problem = errno;
      break;
    }
  }
  ::close(handle);
  return problem;
}

std::string resolved_path(const std::string& path) {
  std::error_code problem;
  const auto resolved = std::filesystem::weakly_canonical(path, problem);
  return problem ? path : resolved.string();
}

unsigned long process_number() {
  return static_cast<unsigned long>(::getpid());
}

std::string error_text(int error) {
  return std::generic_category().message(error);
}

}  // namespace leafwright
