import type { ComponentChildren, ButtonHTMLAttributes } from "preact";

type ButtonProps = Omit<ButtonHTMLAttributes<HTMLButtonElement>, "onClick" | "disabled"> & {
  /** While its act is under way: it says that it cannot be pressed, and passes over presses. */
  busy: boolean;
  disabled?: boolean;
  onClick?: (event: MouseEvent & { currentTarget: HTMLButtonElement }) => void;
  children?: ComponentChildren;
};

/**
 * A button of an act. While the act is under way it is not `disabled`, because a disabled button
 * loses the focus, and whoever works by keyboard would begin again at the top of the page.
 */
export function Button({ busy, onClick, ...rest }: ButtonProps) {
  return (
    <button
      {...rest}
      {...(busy ? { "aria-disabled": "true" as const } : {})}
      onClick={(event) => {
        // Also Enter in a field presses the form's button, and sends nothing then.
        if (busy) event.preventDefault();
        else onClick?.(event);
      }}
    />
  );
}
