#include "files/xlsx_zip.hpp"

#include <minizip/unzip.h>

#include <algorithm>
#include <array>
#include <cstring>

#include "base/text.hpp"

namespace leafwright {
namespace {

/// minizip reads through callbacks; these read from memory.
struct Memory {
  std::string_view bytes;
  std::uint64_t at = 0;
};

voidpf ZCALLBACK open_memory(voidpf opaque, const void* /*name*/, int /*mode*/) {
  return opaque;
}
uLong ZCALLBACK read_memory(voidpf /*opaque*/, voidpf stream, void* to, uLong size) {
  Memory& memory = *static_cast<Memory*>(stream);
  const std::uint64_t left =
      memory.bytes.size() - std::min<std::uint64_t>(memory.at, memory.bytes.size());
  const auto n = std::min<std::uint64_t>(size, left);
  if (n > 0) std::memcpy(to, memory.bytes.data() + memory.at, static_cast<std::size_t>(n));
  memory.at += n;
  return static_cast<uLong>(n);
}
uLong ZCALLBACK write_memory(voidpf /*opaque*/, voidpf /*stream*/, const void* /*from*/,
                             uLong /*size*/) {
  return 0;
}
ZPOS64_T ZCALLBACK tell_memory(voidpf /*opaque*/, voidpf stream) {
  return static_cast<Memory*>(stream)->at;
}
long ZCALLBACK seek_memory(voidpf /*opaque*/, voidpf stream, ZPOS64_T offset, int origin) {
  Memory& memory = *static_cast<Memory*>(stream);
  std::uint64_t from = 0;
  if (origin == ZLIB_FILEFUNC_SEEK_CUR) from = memory.at;
  if (origin == ZLIB_FILEFUNC_SEEK_END) from = memory.bytes.size();
  if (from + offset > memory.bytes.size()) return -1;
  memory.at = from + offset;
  return 0;
}
int ZCALLBACK close_memory(voidpf /*opaque*/, voidpf /*stream*/) {
  return 0;
}
int ZCALLBACK no_error(voidpf /*opaque*/, voidpf /*stream*/) {
  return 0;
}

tl::unexpected<Error> unreadable(std::string found, std::string expected = "",
                                 std::string hint = "") {
  return fail(ErrorCode::unreadable, std::move(found), std::move(expected), std::move(hint));
}

constexpr const char* copy_again = "copy it from the instrument or its owner again";

}  // namespace

struct ZipArchive::Impl {
  Memory memory;
  ZipLimits limits;
  unzFile file = nullptr;
  std::vector<std::string> names;
  std::uint64_t total = 0;

  Impl(std::string_view bytes, const ZipLimits& given) : memory{bytes, 0}, limits(given) {}
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;
  ~Impl() {
    if (file != nullptr) unzClose(file);
  }

  bool open() {
    zlib_filefunc64_def functions{};
    functions.zopen64_file = open_memory;
    functions.zread_file = read_memory;
    functions.zwrite_file = write_memory;
    functions.ztell64_file = tell_memory;
    functions.zseek64_file = seek_memory;
    functions.zclose_file = close_memory;
    functions.zerror_file = no_error;
    functions.opaque = &memory;
    file = unzOpen2_64("", &functions);
    return file != nullptr;
  }

  Result<void> list() {
    constexpr std::size_t most_parts = 10000;
    for (int state = unzGoToFirstFile(file); state == UNZ_OK; state = unzGoToNextFile(file)) {
      std::array<char, 1024> name{};
      unz_file_info64 info{};
      if (unzGetCurrentFileInfo64(file, &info, name.data(), name.size() - 1, nullptr, 0, nullptr,
                                  0) != UNZ_OK) {
        return unreadable("the list of its parts is damaged", "a whole .xlsx file", copy_again);
      }
      if ((info.flag & 1U) != 0) {
        return unreadable("it is encrypted", "a spreadsheet without a password",
                          "save a copy without a password, or export the sheet as CSV");
      }
      names.emplace_back(name.data());
      if (names.size() > most_parts) {
        return unreadable("it has more than 10000 parts", "a spreadsheet");
      }
    }
    return {};
  }

  Result<void> check_growth(const std::string& name, std::uint64_t out, std::uint64_t in) {
    const bool swells =
        out > limits.unsuspected && out / std::max<std::uint64_t>(in, 1) > limits.largest_ratio;
    if (out <= limits.largest_part && total <= limits.largest_total && !swells) return {};
    return unreadable("its part '" + name + "' unfolds to more than " + std::to_string(out >> 20U) +
                          " MB from " + std::to_string((in + 1023) >> 10U) + " kB",
                      "at most " + std::to_string(limits.largest_part >> 20U) + " MB a part and " +
                          std::to_string(limits.largest_ratio) + " times its packed size",
                      "this is no log; ask where it came from, or export the sheet as CSV");
  }
};

ZipArchive::ZipArchive(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
ZipArchive::ZipArchive(ZipArchive&&) noexcept = default;
ZipArchive& ZipArchive::operator=(ZipArchive&&) noexcept = default;
ZipArchive::~ZipArchive() = default;

Result<ZipArchive> ZipArchive::open(std::string_view bytes, const ZipLimits& limits) {
  if (bytes.substr(0, 2) != "PK") return unreadable("it is not a zip archive", "a .xlsx file");
  auto impl = std::make_unique<Impl>(bytes, limits);
  if (!impl->open()) {
    return unreadable("its list of parts, which stands at the end, is missing: the file was cut",
                      "a whole .xlsx file", copy_again);
  }
  if (auto ok = impl->list(); !ok) return fail(ok.error());
  return ZipArchive(std::move(impl));
}

const std::vector<std::string>& ZipArchive::names() const {
  return impl_->names;
}

bool ZipArchive::has(const std::string& name) const {
  return std::any_of(impl_->names.begin(), impl_->names.end(),
                     [&](const std::string& known) { return same_letters(known, name); });
}

Result<void> ZipArchive::read(const std::string& name,
                              const std::function<bool(std::string_view)>& take) {
  constexpr int any_case = 2;
  unz_file_info64 info{};
  if (unzLocateFile(impl_->file, name.c_str(), any_case) != UNZ_OK ||
      unzGetCurrentFileInfo64(impl_->file, &info, nullptr, 0, nullptr, 0, nullptr, 0) != UNZ_OK) {
    return unreadable("its part '" + shortened(name) + "' is missing", "a whole .xlsx file");
  }
  const auto damaged = [&] {
    return unreadable("its part '" + shortened(name) + "' is damaged", "a whole .xlsx file",
                      copy_again);
  };
  if (unzOpenCurrentFile(impl_->file) != UNZ_OK) return damaged();
  std::vector<char> piece(65536);
  std::uint64_t out = 0;
  for (;;) {
    const int n =
        unzReadCurrentFile(impl_->file, piece.data(), static_cast<unsigned>(piece.size()));
    if (n == 0) break;
    if (n < 0) {
      unzCloseCurrentFile(impl_->file);
      return damaged();
    }
    out += static_cast<std::uint64_t>(n);
    impl_->total += static_cast<std::uint64_t>(n);
    if (auto ok = impl_->check_growth(name, out, info.compressed_size); !ok) {
      unzCloseCurrentFile(impl_->file);
      return ok;
    }
    if (!take({piece.data(), static_cast<std::size_t>(n)})) {
      unzCloseCurrentFile(impl_->file);
      return {};
    }
  }
  // The checksum is looked at once all bytes have been read.
  return unzCloseCurrentFile(impl_->file) == UNZ_OK ? Result<void>() : damaged();
}

}  // namespace leafwright
