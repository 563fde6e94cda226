/** Hands a file to the person: the share sheet with a finger, a download with a mouse. */
import { isTouch } from "../ui/index.ts";

/** Answers false when the person closed the share sheet. A PDF is never opened in place: an installed app has no way back. */
export async function offerFile(blob: Blob, name: string): Promise<boolean> {
  const file = new File([blob], name, { type: blob.type });
  if (isTouch() && typeof navigator.canShare === "function" && navigator.canShare({ files: [file] })) {
    try {
      await navigator.share({ files: [file], title: name });
      return true;
    } catch (error) {
      if (error instanceof DOMException && error.name === "AbortError") return false;
      // Some browsers say they can and cannot: fall through to the download.
    }
  }
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  // The browser has taken the file over by then; a minute is for slow phones.
  setTimeout(() => {
    URL.revokeObjectURL(link.href);
  }, 60_000);
  return true;
}
